#include "board/board_message.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

namespace ebbwatch {
namespace {

constexpr const char* content_security_policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const char* title(int status) {
  switch (status) {
    case 400:
      return "Bad Request";
    case 401:
      return "Unauthorized";
    case 403:
      return "Forbidden";
    case 404:
      return "Not Found";
    case 405:
      return "Method Not Allowed";
    default:
      return "Service Unavailable";
  }
}

}  // namespace

void add_safety_fields(BoardAnswer& answer) {
  answer.fields.emplace_back("Content-Security-Policy", content_security_policy);
  answer.fields.emplace_back("X-Content-Type-Options", "nosniff");
  answer.fields.emplace_back("Referrer-Policy", "no-referrer");
  answer.fields.emplace_back("Cross-Origin-Opener-Policy", "same-origin");
  answer.fields.emplace_back("Cross-Origin-Resource-Policy", "same-origin");
  const auto cached = [](const auto& field) { return field.first == "Cache-Control"; };
  if (std::none_of(answer.fields.begin(), answer.fields.end(), cached)) {
    answer.fields.emplace_back("Cache-Control", "no-store");
  }
}

BoardAnswer html_answer(std::string body, int status) {
  BoardAnswer answer;
  answer.status = status;
  answer.content_type = "text/html; charset=utf-8";
  answer.body = std::move(body);
  return answer;
}

BoardAnswer text_answer(std::string body, const char* content_type) {
  BoardAnswer answer;
  answer.content_type = content_type;
  answer.body = std::move(body);
  return answer;
}

BoardAnswer problem_answer(int status, const std::string& detail) {
  const boost::json::object problem{
      {"type", "about:blank"}, {"title", title(status)}, {"status", status}, {"detail", detail}};
  auto answer = text_answer(boost::json::serialize(problem) + "\n", "application/problem+json");
  answer.status = status;
  return answer;
}

BoardAnswer see_other(const std::string& to) {
  BoardAnswer answer;
  answer.status = 303;
  answer.fields.emplace_back("Location", to);
  return answer;
}

}  // namespace ebbwatch
