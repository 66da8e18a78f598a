#include "notices/lines.h"

#include <doctest/doctest.h>

#include <sstream>
#include <string>

#include "text/gsm7.h"
#include "text/utf8.h"

using namespace ebbwatch;

namespace {

std::size_t widest(const std::string& text) {
  std::istringstream lines(text);
  std::size_t most = 0;
  for (std::string line; std::getline(lines, line);) most = std::max(most, columns(line));
  return most;
}

}  // namespace

TEST_CASE("columns: letters count one, combining marks none, wide characters two") {
  CHECK(columns("") == 0);
  CHECK(columns("Lagoon") == 6);
  CHECK(columns("Großes °C") == 9);
  CHECK(columns("e\xCC\x81") == 1);         // e + combining acute
  CHECK(columns("\xF0\x9F\x90\x9F") == 2);  // U+1F41F
  CHECK(columns("水族") == 4);
}

TEST_CASE("one line: control characters, line ends and runs of spaces become one space") {
  CHECK(one_line("  Lagoon\r\nBcc: x\t reef \n") == "Lagoon Bcc: x reef");
  CHECK(one_line(std::string("a\0b", 3)) == "a b");
  CHECK(one_line("a\xC2\x85z") == "a z");  // NEL
  CHECK(one_line("") == "");
}

TEST_CASE("one line: bytes that are not UTF-8 become U+FFFD") {
  CHECK(one_line("a\xFF z") == "a\xEF\xBF\xBD z");
  CHECK(is_utf8(one_line("\xC3")));
}

TEST_CASE("wrap: lines have at most 78 columns and keep every word") {
  std::string words;
  for (int i = 0; i < 60; ++i) words += "wörd" + std::to_string(i) + " ";
  const std::string wrapped = wrap(words, "- ", "  ");
  CHECK(widest(wrapped) <= 78);
  CHECK(widest(wrapped) > 70);
  CHECK(wrapped.starts_with("- wörd0 "));
  CHECK(one_line(wrapped) == "- " + one_line(words));
  CHECK(wrap("") == "");
  CHECK(wrap(" \n ") == "");
}

TEST_CASE("wrap: a line of exactly 78 columns stays whole, one more breaks") {
  const std::string word(38, 'a');
  CHECK(wrap(word + " " + std::string(39, 'b')) == word + " " + std::string(39, 'b') + "\n");
  CHECK(wrap(word + " " + std::string(40, 'b')) == word + "\n" + std::string(40, 'b') + "\n");
}

TEST_CASE("wrap: a word wider than a line is broken between characters") {
  std::string word;
  for (int i = 0; i < 100; ++i) word += "水";
  const std::string wrapped = wrap(word, "  ", "  ");
  CHECK(widest(wrapped) <= 78);
  CHECK(is_utf8(wrapped));
}

TEST_CASE("wrap lines: the owner's line ends stay, idle ones at the end go") {
  CHECK(wrap_lines("one\ntwo\n\nthree\n\n\n", "  ") == "  one\n  two\n\n  three\n");
  CHECK(wrap_lines("one\r\ntwo", "") == "one\ntwo\n");
  CHECK(wrap_lines("", "  ") == "");
  CHECK(wrap_lines("\n\n", "  ") == "");
}

TEST_CASE("shorten: what fits stays whole; else the middle goes and a number at the end stays") {
  CHECK(shorten("Rack 12", 7, columns) == "Rack 12");
  CHECK(shorten("Long wall of the shop, rack 12", 20, columns) == "Long wall of t... 12");
  CHECK(shorten("Coldwaterquarantine", 10, columns) == "Coldwat...");
  CHECK(shorten("Lagoon", 2, columns) == "");
  CHECK(shorten("Lagoon", 3, columns) == "...");
}

TEST_CASE("shorten: never cuts within a number or a time") {
  CHECK(shorten("Tank 123456 of the long wall", 13, columns) == "Tank... wall");
  CHECK(shorten("Feed at 14:02:55 daily quarantine", 15, columns) == "Feed at...");
  CHECK(shorten("2.5 m reef with a very long name", 6, columns) == "2.5...");
  CHECK(shorten("2.5 m reef with a very long name", 5, columns) == "...");
  CHECK(shorten("Ring +1 555 0142 for the tank", 14, columns) == "Ring +... tank");
}

TEST_CASE("shorten: at every room the result fits, is UTF-8 and shows only whole numbers") {
  const std::string name = "Regal 17, Süßwasser 24,5 °C {Halle 3} 水 Becken 1204";
  for (std::size_t room = 0; room < 70; ++room) {
    for (Measure measure : {Measure(columns), Measure(gsm7_septets)}) {
      const std::string cut = shorten(name, room, measure);
      CAPTURE(cut);
      CHECK(measure(cut) <= room);
      CHECK(is_utf8(cut));
      std::string digits;
      for (char c : cut + " ") {
        if ((c >= '0' && c <= '9') || c == ',') {
          digits += c;
        } else {
          while (digits.ends_with(',')) digits.pop_back();
          const bool whole = digits.empty() || digits == "17" || digits == "24,5" ||
                             digits == "3" || digits == "1204";
          CHECK(whole);
          digits.clear();
        }
      }
    }
  }
}

TEST_CASE("cut after word: ends after a whole word, not within a grouped number") {
  CHECK(cut_after_word("Breaker 4 in the cellar", 40, columns) == "Breaker 4 in the cellar");
  CHECK(cut_after_word("Breaker 4 in the cellar", 16, columns) == "Breaker 4 in...");
  CHECK(cut_after_word("Ring Kim, +1 555 0142, next door", 20, columns) == "Ring Kim...");
  CHECK(cut_after_word("Ring Kim, +1 555 0142, next door", 25, columns) ==
        "Ring Kim, +1 555 0142...");
  CHECK(cut_after_word("Breaker", 5, columns) == "");
}
