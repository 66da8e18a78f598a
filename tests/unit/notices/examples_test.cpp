#include "notices/examples.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>

#include "notices/lines.h"
#include "text/gsm7.h"
#include "text/utf8.h"

using namespace ebbwatch;

namespace {

std::string as_a_person_sees_them() {
  std::string page = "# What people get\n";
  for (const sample::Example& example : sample::examples()) {
    const Texts texts = compose(example.story, example.telling);
    page += "\n## " + example.title + "\n\nMail:\n\n```\nSubject: " + texts.subject + "\n\n" +
            texts.text + "```\n\nText to a phone (" +
            std::to_string(gsm7_septets(texts.short_text)) + " of 160):\n\n```\n" +
            texts.short_text + "\n```\n";
  }
  return page;
}

std::string stored_page(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace

// EBBWATCH_WRITE_EXAMPLES=1 writes the page anew; read it aloud before committing it.
TEST_CASE("examples: every message reads as on the page of examples") {
  sample::use_utc();
  const std::string path = EBBWATCH_SOURCE_DIR "/tests/unit/notices/examples.md";
  const std::string page = as_a_person_sees_them();
  if (std::getenv("EBBWATCH_WRITE_EXAMPLES") != nullptr) std::ofstream(path) << page;
  CHECK(stored_page(path) == page);
}

TEST_CASE("examples: every message keeps the limits of mail and of phones") {
  sample::use_utc();
  for (const sample::Example& example : sample::examples()) {
    CAPTURE(example.title);
    const Texts texts = compose(example.story, example.telling);
    CHECK(columns(texts.subject) <= 78);
    CHECK(texts.subject.find('\n') == std::string::npos);
    CHECK(is_utf8(texts.text));
    CHECK(texts.text.ends_with('\n'));
    std::istringstream lines(texts.text);
    for (std::string line; std::getline(lines, line);) {
      CHECK(columns(line) <= 78);
      CHECK_FALSE(line.ends_with(' '));
    }
    CHECK(is_gsm7(texts.short_text));
    CHECK(gsm7_septets(texts.short_text) <= 160);
    CHECK(segments(texts.short_text)->count == 1);
  }
}
