#include "board/pages.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "board/assets.h"
#include "board/board_message.h"

using namespace ebbwatch;

namespace {

const std::string attack = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&\x01";

Frame frame_of(Role role, const std::string& text = "plain") {
  return {text, role, text, text, {text, text}, text, {text}};
}

PanelWindow window_of(const std::string& contact, const std::string& alarm) {
  return {"lagoon", "Lagoon reef", "elm-street", "Elm Street", contact, alarm, {}, ""};
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

/// Every page with `text` in every field that comes from outside.
std::vector<std::string> pages_full_of(const std::string& text, bool strips = true) {
  const Frame frame = frame_of(Role::host, text);
  const Moment moment{text, text};
  const PanelWindow window{text,   text, text,
                           text,   text, text,
                           moment, text, {text, text, {{text, text, true, 2, 9}}, {}}};
  const RunningOutage running{text, text, text, "unacknowledged", moment, text, text, {text}};
  const ControllerLine controller{text, text + "!", text, text, text, moment};
  const ClocksView clocks{text, text, {{text, text, true, 2, 9}}, {text}};
  charts::StripChart strip{text, text, text, 0, 60, {{0, text}, {30, text}}, {}, {}};
  strip.tracks.emplace_back();
  strip.tracks.back().name = text;
  strip.tracks.back().points = {{1, 2}, {31, 3}};
  TankSheet tank{text, text, text, text, {controller}, window, clocks};
  if (strips) tank.strip = strip;
  SiteView site{text, text, text, text, text, text, text, {tank}, text, {{text, text, text}}, text};
  site.put_away = {{text, text, text, moment, moment, text, text, true}};
  site.subjects = {{text, text}};
  site.complaint = text;
  OutageView outage{text,
                    text,
                    text,
                    text,
                    true,
                    "unacknowledged",
                    moment,
                    moment,
                    moment,
                    text,
                    text,
                    text,
                    {{TimelineEntry::Kind::act, moment, text, {text}}},
                    {{text, clocks}}};
  outage.sites = {text};
  outage.false_by = text;
  HistoryView history{text, text, text, text, {{moment, text, text, text, text, text, text}}, 1};
  history.words = text;
  PerformanceView performance{30,   text, {{text, text, text}}, {{text, {{text, text, text}}}},
                              text, ""};
  const DrillsView drills{{{text, text, moment, moment, moment, true, true}},
                          {{text, text, text, text, text, moment, text}},
                          {{text, text}},
                          {{text, text}},
                          text};
  LoginView login{text, text, text, text, text, text, false};
  return {panel_page(frame, {{window}, {running}}),
          site_page(frame, site),
          outage_page(frame, outage),
          history_page(frame, history),
          performance_page(frame, performance),
          drills_page(frame, drills),
          login_page(login)};
}

}  // namespace

TEST_CASE("pages: no text from outside becomes markup, on any page, in any field") {
  for (const auto& page : pages_full_of(attack)) {
    CAPTURE(page.substr(0, 300));
    CHECK(page.find("<script>") == std::string::npos);
    CHECK(page.find("<img") == std::string::npos);
    CHECK(page.find("\"'>") == std::string::npos);
    CHECK(page.find('\x01') == std::string::npos);
    CHECK(count(page, "&lt;script&gt;alert(1)") >= 1);
  }
}

TEST_CASE("pages: text in a page never changes how many elements it has") {
  // A strip breaks long names into lines; the test before this one covers it.
  const auto plain = pages_full_of("plain", false), attacked = pages_full_of(attack, false);
  for (std::size_t i = 0; i < plain.size(); ++i) {
    CHECK(count(plain[i], "<") == count(attacked[i], "<"));
    CHECK(count(plain[i], "\"") == count(attacked[i], "\""));
  }
}

TEST_CASE("pages: nothing inline, and nothing from another host") {
  for (const auto& page : pages_full_of("plain")) {
    for (const char* inline_code :
         {"style=", "onclick", "onload", "javascript:", "<style", "://"}) {
      CAPTURE(inline_code);
      CHECK(page.find(inline_code) == std::string::npos);
    }
  }
  CHECK(board_css.find("url(") == std::string_view::npos);
  CHECK(board_js.find("://") == std::string_view::npos);
  CHECK(board_svg.starts_with("<svg"));
}

TEST_CASE("answers: the policy forbids everything but our own style, script and stream") {
  BoardAnswer answer = html_answer("x");
  add_safety_fields(answer);
  std::string all;
  for (const auto& [name, value] : answer.fields) all += name + ": " + value + "\n";
  for (const char* part :
       {"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "base-uri 'none'",
        "form-action 'self'", "nosniff", "no-referrer", "no-store"}) {
    CHECK(all.find(part) != std::string::npos);
  }
  CHECK(all.find("unsafe") == std::string::npos);
}

TEST_CASE("window: each state of the sequence has words, and another shape when it is lit") {
  struct Case {
    const char *contact, *alarm, *lamp, *words;
  };
  std::vector<std::string> shapes;
  for (const Case& one : {Case{"lost", "unacknowledged", "fast", "lost, unacknowledged"},
                          Case{"lost", "acknowledged", "steady", "lost, acknowledged"},
                          Case{"in contact", "returned unacknowledged", "slow",
                               "in contact, returned unacknowledged"},
                          Case{"in doubt", "normal", "doubt", "in doubt"},
                          Case{"lost", "shelved", "away", "lost, shelved"}}) {
    const auto html = window_part(window_of(one.contact, one.alarm)).str();
    CAPTURE(html);
    CHECK(html.find("window " + std::string(one.lamp) + "\"") != std::string::npos);
    CHECK(html.find(one.words) != std::string::npos);
    const auto from = html.find(" d=\"");
    REQUIRE(from != std::string::npos);
    shapes.push_back(html.substr(from, 20));
  }
  std::sort(shapes.begin(), shapes.end());
  CHECK(std::adjacent_find(shapes.begin(), shapes.end()) == shapes.end());
  const auto calm = window_part(window_of("in contact", "normal")).str();
  CHECK(calm.find("window off") != std::string::npos);
  CHECK(calm.find("<svg") == std::string::npos);
}

TEST_CASE("window: leads to the running outage, else to the site") {
  auto window = window_of("lost", "unacknowledged");
  CHECK(window_part(window).str().find("href=\"/site/elm-street\"") != std::string::npos);
  window.outage = "pier-3";
  CHECK(window_part(window).str().find("href=\"/outage/pier-3\"") != std::string::npos);
}

TEST_CASE("panel: says first whether anything is wrong, in words") {
  const Frame frame = frame_of(Role::viewer);
  const auto verdict = [&](std::vector<PanelWindow> windows) {
    const auto html = news_part(frame, {std::move(windows), {}}).str();
    const auto from = html.find("<h1 id=\"verdict\">") + 17;
    return html.substr(from, html.find("</h1>") - from);
  };
  const auto calm = window_of("in contact", "normal"), lost = window_of("lost", "unacknowledged");
  const auto back = window_of("returning", "acknowledged"), doubt = window_of("in doubt", "normal");
  CHECK(verdict({}) == "No tank is configured.");
  CHECK(verdict({calm}) == "The one tank is in contact.");
  CHECK(verdict({calm, calm}) == "All 2 tanks are in contact.");
  CHECK(verdict({calm, lost, back, doubt}) ==
        "Of 4 tanks: 1 lost, 1 in doubt, 1 returning, 1 in contact.");
  CHECK(verdict({lost}) == "Of 1 tank: 1 lost.");
}

TEST_CASE("panel: only who may is offered to acknowledge, and only what is not yet") {
  const RunningOutage open{"pier-1", "Lagoon",    "tank", "unacknowledged",
                           {},       "not known", "",     {"mill"}};
  auto taken = open;
  taken.alarm = "acknowledged";
  taken.taken_by = "Robin";
  const auto forms = [](Role role, const RunningOutage& outage) {
    Frame frame = frame_of(role);
    frame.own_sites = {"mill"};
    return count(news_part(frame, {{}, {outage}}).str(), "<form");
  };
  auto elsewhere = open;
  elsewhere.sites = {"quay"};
  CHECK(forms(Role::keyholder, elsewhere) == 0);
  CHECK(forms(Role::host, elsewhere) == 1);
  CHECK(forms(Role::viewer, open) == 0);
  CHECK(forms(Role::keyholder, open) == 1);
  CHECK(forms(Role::host, open) == 1);
  CHECK(forms(Role::host, taken) == 0);
}

TEST_CASE("pages: the assumptions of a clock and the caution are one click away") {
  PanelWindow window = window_of("lost", "unacknowledged");
  window.clocks = {"lagoon",
                   "Nothing is heard since 14:02. If the power is out since then:",
                   {{"Oxygen", "oxygen below 4 mg/L in 1.5 to 6 hours", true, 1.5, 6},
                    {"Temperature", "add volume_l", false, 0, 0}},
                   {"Water at 25.5 °C, the last reading."}};
  const std::string small = small_clocks(window.clocks).str();
  CHECK(count(small, "class=\"dial\"") == 1);  // A refusal takes no room on the panel.
  CHECK(small.find("1.5 to 6 hours") != std::string::npos);
  const std::string whole = clocks_part(window.clocks, "Lagoon reef").str();
  CHECK(whole.find("<details>") < whole.find("Water at 25.5 °C"));
  CHECK(whole.find("Temperature: no estimate; add volume_l") != std::string::npos);
  CHECK(whole.find("with dry hands") != std::string::npos);
  CHECK(clocks_part({}, "Lagoon reef").empty());
}

TEST_CASE("forms: each role is offered what it may do, a keyholder at own sites only") {
  const auto forms = [](Role role, const std::string& own) {
    Frame frame = frame_of(role);
    frame.own_sites = {own};
    SiteView site;
    site.id = "mill";
    site.call_list = "everyday";
    site.subjects = {{"tank/lagoon", "tank Lagoon"}};
    site.put_away = {{"tank/lagoon", "tank Lagoon", "shelved", {}, {}, "dry", "robin", true},
                     {"tank/frag", "tank Frag", "out of service", {}, {}, "dry", "robin", false}};
    OutageView outage;
    outage.outage = "pier-1";
    outage.sites = {"mill"};
    const std::string all = site_page(frame, site) + outage_page(frame, outage);
    std::vector<std::string> offered;
    for (const char* act : {"/mill/shelve", "/mill/unshelve", "/drill", "/note", "/mark"}) {
      if (count(all, std::string(act) + "\"") == 1) offered.emplace_back(act);
    }
    return offered;
  };
  using Acts = std::vector<std::string>;
  CHECK(forms(Role::viewer, "mill") == Acts{});
  CHECK(forms(Role::keyholder, "quay") == Acts{});
  CHECK(forms(Role::keyholder, "mill") == Acts{"/mill/shelve", "/mill/unshelve", "/note"});
  CHECK(forms(Role::host, "") ==
        Acts{"/mill/shelve", "/mill/unshelve", "/drill", "/note", "/mark"});
}

TEST_CASE("wall: the page leads nowhere, offers nothing and listens at its own address") {
  Frame frame = frame_of(Role::viewer);
  frame.wall_key = "good-key";
  PanelWindow window = window_of("lost", "unacknowledged");
  window.outage = "pier-1";
  const RunningOutage running{"pier-1", "Lagoon",    "tank", "unacknowledged",
                              {},       "not known", "",     {"mill"}};
  const auto page = panel_page(frame, {{window}, {running}});
  CHECK(page.find("data-stream=\"/wall/good-key/events\"") != std::string::npos);
  CHECK(page.find("<form") == std::string::npos);
  CHECK(page.find("<nav") == std::string::npos);
  CHECK(page.find("href=\"/site") == std::string::npos);
  CHECK(page.find("href=\"/outage") == std::string::npos);
  CHECK(page.find("href=\"/\"") == std::string::npos);
  CHECK(page.find("Lagoon reef") != std::string::npos);
}

TEST_CASE("notes: line ends stay, markup does not") {
  CHECK(lines_part("breaker\n<b>off</b>").str() == "breaker<br>&lt;b&gt;off&lt;/b&gt;");
  CHECK(lines_part("").str().empty());
}
