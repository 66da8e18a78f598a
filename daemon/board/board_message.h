// What the board is asked and what it answers, as plain data; app/ carries it to and from HTTP.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace ebbwatch {

struct BoardRequest {
  std::string method;  ///< As sent: "GET".
  std::string path;    ///< Without query, still encoded.
  std::string query;   ///< After the `?`, still encoded.
  std::string body;
  std::string cookie;           ///< The Cookie field; empty when there is none.
  std::string sender;           ///< What counts as one sender when passwords are guessed.
  std::string authorization{};  ///< The Authorization field; empty when there is none.
};

struct BoardAnswer {
  int status = 200;
  std::string content_type;
  std::string body;
  std::vector<std::pair<std::string, std::string>> fields;
};

/// Adds what every answer of the board carries: a Content-Security-Policy that allows our own
/// style, script and event stream and nothing else, nosniff, no-referrer, no framing, no caching.
void add_safety_fields(BoardAnswer& answer);

BoardAnswer html_answer(std::string body, int status = 200);
/// What a program asked for.
BoardAnswer text_answer(std::string body, const char* content_type);
/// A problem document (RFC 9457). @param detail what to change, in sentences.
BoardAnswer problem_answer(int status, const std::string& detail);
/// 303 See Other. @param to a path of ours.
BoardAnswer see_other(const std::string& to);

}  // namespace ebbwatch
