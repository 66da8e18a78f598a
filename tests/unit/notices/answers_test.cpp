#include "notices/answers.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

std::string codes(std::string_view text) {
  std::string line;
  for (const std::string& code : codes_in_reply(text)) line += (line.empty() ? "" : " ") + code;
  return line;
}

}  // namespace

TEST_CASE("answers: a reply is a yes in any of the languages, then codes") {
  CHECK(codes("OK 4271") == "4271");
  CHECK(codes(" ok4271\r\n") == "4271");
  CHECK(codes("Okay: 4271!") == "4271");
  CHECK(codes("4271") == "4271");
  CHECK(codes("Ja, 0042. Bin unterwegs") == "0042");
  CHECK(codes("S\u00ed 4271") == "4271");
  CHECK(codes("vale 4271, voy en 10 minutos") == "4271");
  CHECK(codes("\"OK 4271\"") == "4271");
}

TEST_CASE("answers: several codes take several outages on, each once") {
  CHECK(codes("OK 4271 9930") == "4271 9930");
  CHECK(codes("ok 4271, 9930, 4271 there in 20 min") == "4271 9930");
}

TEST_CASE("answers: whatever does not begin so acknowledges nothing") {
  CHECK(codes("").empty());
  CHECK(codes("OK").empty());
  CHECK(codes("not ok 4271").empty());
  CHECK(codes("nein 4271").empty());
  CHECK(codes("okapi 4271").empty());
  CHECK(codes("I am at 4271 Elm Street").empty());
  CHECK(codes("OK 42711").empty());
  CHECK(codes("OK 427").empty());
  CHECK(codes("4271a").empty());
  CHECK(codes("+15550100").empty());
}

TEST_CASE("answers: the words of the ways are read back") {
  for (AnswerWay way : {AnswerWay::board, AnswerWay::command_line, AnswerWay::link, AnswerWay::text,
                        AnswerWay::drill}) {
    CHECK(answer_way(word(way)) == way);
  }
  CHECK_FALSE(answer_way("telepathy").has_value());
}
