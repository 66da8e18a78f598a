#include "report/report.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

#include "sample.h"

using namespace ebbwatch;

namespace {

const std::string nasty =
    "<script>alert(1)</script>\"'& \x01 水族館 with a very long name indeed, number 12";

report::Record nasty_month() {
  report::Record record = test::sample_month();
  record.watcher = record.title = nasty;
  for (auto& tank : record.tanks) tank.name = tank.site = nasty;
  for (auto& outage : record.outages) {
    outage.name = outage.id = outage.scope = outage.cause = outage.acknowledged_by = nasty;
    for (auto& notice : outage.notices) notice.person = nasty;
  }
  record.drills[0].site = record.drills[0].by = record.drills[0].silent[0] = nasty;
  return record;
}

/// Words with one blank between them, wherever lines end.
std::string unwrapped(const std::string& text) {
  std::istringstream in(text);
  std::string out;
  for (std::string word; in >> word;) out += (out.empty() ? "" : " ") + word;
  return out;
}

std::size_t letters(const std::string& line) {
  return static_cast<std::size_t>(std::count_if(line.begin(), line.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

}  // namespace

TEST_CASE("report: the text tells everything within 80 columns") {
  const std::string text = report::text_report(test::sample_month());
  for (const char* part :
       {"Report of the watcher harbour: October 2026", "own gaps: 1, 1 h in all",
        "Lagoon reef, Elm Street", "99.771 %", "Elm Street (site), harbour-17",
        "2026-10-05 14:00 to 2026-10-05 15:12, 1 h 12 min",
        "Cause: mains power off (about 85 in 100)",
        "Known 3 min after it began; 2 notices: 2 delivered; taken on by Robin after 4 min",
        "nobody took it on", "1 of 2 taken on", "Robin: 2 messages, 0.45 a week",
        "2026-10-20 18:00 Elm Street: 1 of 2 answered; not: Sam"}) {
    CAPTURE(text);
    CHECK(unwrapped(text).find(part) != std::string::npos);
  }
  for (const auto& record : {test::sample_month(), nasty_month(), report::Record{}}) {
    std::istringstream lines(report::text_report(record));
    for (std::string line; std::getline(lines, line);) {
      CAPTURE(line);
      CHECK(letters(line) <= 80);
    }
  }
}

TEST_CASE("report: the page is complete in itself and no name becomes markup") {
  const std::string page = report::html_report(nasty_month());
  for (const char* part : {"<script", "src=", "href=", "url(http", "@import", "\x01"}) {
    CHECK(page.find(part) == std::string::npos);
  }
  CHECK(page.find("<svg") != std::string::npos);
  CHECK(page.find("@media print") != std::string::npos);
  const std::string plain = report::html_report(test::sample_month());
  const auto count = [](const std::string& text, char c) {
    return std::count(text.begin(), text.end(), c);
  };
  CHECK(plain.find("99.771 %") != std::string::npos);
  CHECK(count(plain, '<') == count(plain, '>'));
}

TEST_CASE("report: an empty month says so") {
  report::Record record = test::sample_month();
  record.outages.clear();
  record.drills.clear();
  record.gaps.clear();
  const std::string text = report::text_report(record);
  CHECK(text.find("own gaps: none") != std::string::npos);
  CHECK(text.find("100.000 %") != std::string::npos);
  CHECK(text.find("None.\n") != std::string::npos);
  CHECK(text.find("None in this time.") != std::string::npos);
}
