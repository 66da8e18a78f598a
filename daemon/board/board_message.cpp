#include "board/board_message.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr const char* content_security_policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

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

BoardAnswer see_other(const std::string& to) {
  BoardAnswer answer;
  answer.status = 303;
  answer.fields.emplace_back("Location", to);
  return answer;
}

}  // namespace ebbwatch
