#include "reporting/log.h"

#include <doctest/doctest.h>

#include <regex>
#include <string>
#include <vector>

#include "support/child.h"

namespace ebbwatch {
namespace {

/// What a process prints to standard error while it does `work`.
std::string printed_by(const std::function<void()>& work) {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  const auto child = test::start_child([&] {
    ::dup2(ends[1], STDERR_FILENO);
    work();
    return 0;
  });
  ::close(ends[1]);
  std::string text;
  char part[512];
  for (ssize_t got = 0; (got = ::read(ends[0], part, sizeof part)) > 0;)
    text.append(part, static_cast<std::size_t>(got));
  ::close(ends[0]);
  CHECK(test::wait_for(child) == 0);
  return text;
}

TEST_CASE("log: lines on a terminal have time, level, sentence and name") {
  const std::string text = printed_by([] {
    open_log(Level::info, false);
    say(Level::debug, "check_in", "Not to be seen.");
    say(Level::warning, "decided", "Loss of tank lagoon.");
  });
  const std::regex line(R"(\d\d:\d\d:\d\d\.\d{3} warning +Loss of tank lagoon\. \[decided\]\n)");
  CHECK_MESSAGE(std::regex_match(text, line), text);
}

TEST_CASE("log: lines for the journal have a priority instead of time and level") {
  // sd-daemon(3): SD_ERR "<3>", SD_WARNING "<4>", SD_INFO "<6>", SD_DEBUG "<7>".
  const std::string text = printed_by([] {
    open_log(Level::debug, true);
    say(Level::error, "keys", "a");
    say(Level::warning, "decided", "b");
    say(Level::info, "started", "c");
    say(Level::debug, "check_in", "d");
  });
  CHECK(text == "<3>a [keys]\n<4>b [decided]\n<6>c [started]\n<7>d [check_in]\n");
}

TEST_CASE("log: control characters cannot forge a line or drive a terminal") {
  const std::string text = printed_by([] {
    open_log(Level::info, true);
    say(Level::info, "started",
        "a\n<3>b\r\x1b[2Jc\x7f"
        "d\te");
  });
  CHECK(text == "<6>a <3>b  [2Jc d e [started]\n");
}

TEST_CASE("log: a test sees lines, repeats once and then counted") {
  std::vector<std::string> lines;
  capture_log([&lines](Level level, std::string_view event, const std::string& text) {
    lines.push_back(std::to_string(static_cast<int>(level)) + " " + std::string(event) + " " +
                    text);
  });
  for (int i = 0; i < 4; ++i) say(Level::error, "captured", "The disk is full.");
  say(Level::info, "captured", "Works\nagain.");
  capture_log({});
  CHECK(lines == std::vector<std::string>{"3 captured The disk is full.",
                                          "1 captured (The line before came 3 more times.)",
                                          "1 captured Works again."});
}

TEST_CASE("log: outside text is quoted and shows what is not text") {
  CHECK(quoted("") == "''");
  CHECK(quoted("250 kept") == "'250 kept'");
  CHECK(quoted("a\r\nb\x1b\x7f") == "'a\\x0d\\x0ab\\x1b\\x7f'");
  CHECK(quoted("caf\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x90\x9F") ==
        "'caf\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x90\x9F'");
  // Bad UTF-8: a lone continuation, a cut character, an overlong form, a C1 control character.
  CHECK(quoted("\x80") == "'\\x80'");
  CHECK(quoted("x\xE2\x82") == "'x\\xe2\\x82'");
  CHECK(quoted("\xC0\xAF") == "'\\xc0\\xaf'");
  CHECK(quoted("\xC2\x9B") == "'\\xc2\\x9b'");
  CHECK(quoted(std::string("a\0b", 3)) == "'a\\x00b'");
}

TEST_CASE("log: outside text is quoted so that its end cannot be forged") {
  CHECK(quoted("a' b") == "'a\\' b'");
  CHECK(quoted("\\x0a") == "'\\\\x0a'");
}

TEST_CASE("log: long outside text is cut with a sign, never within a character") {
  const std::string cut = quoted(std::string(1000, 'x'));
  CHECK(cut.size() <= 200 + 4);
  CHECK(cut.ends_with("x…'"));
  std::string fishes;
  for (int i = 0; i < 100; ++i) fishes += "\xF0\x9F\x90\x9F";
  CHECK(quoted(fishes).ends_with("\xF0\x9F\x90\x9F…'"));
}

}  // namespace
}  // namespace ebbwatch
