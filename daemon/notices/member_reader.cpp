#include "notices/member_reader.h"

#include <boost/json/array.hpp>
#include <boost/json/value.hpp>

namespace ebbwatch {

void MemberReader::fail(std::string_view key, const char* what) {
  if (problem_.empty()) problem_ = "member \"" + std::string(key) + "\" " + what;
}

bool MemberReader::is_null(std::string_view key) const {
  const auto* value = object_.if_contains(key);
  return value == nullptr || value->is_null();
}

std::string MemberReader::text(std::string_view key) {
  const auto* value = object_.if_contains(key);
  if (value != nullptr && value->is_string()) {
    return std::string(value->get_string().data(), value->get_string().size());
  }
  fail(key, "must be a text");
  return "";
}

std::string MemberReader::text_or_empty(std::string_view key) {
  return is_null(key) ? std::string() : text(key);
}

std::int64_t MemberReader::integer(std::string_view key) {
  const auto* value = object_.if_contains(key);
  if (value != nullptr && value->is_int64()) return value->get_int64();
  fail(key, "must be a whole number");
  return 0;
}

double MemberReader::number(std::string_view key) {
  const auto* value = object_.if_contains(key);
  if (value != nullptr && value->is_number()) return value->to_number<double>();
  fail(key, "must be a number");
  return 0;
}

bool MemberReader::truth(std::string_view key) {
  const auto* value = object_.if_contains(key);
  if (value != nullptr && value->is_bool()) return value->get_bool();
  fail(key, "must be true or false");
  return false;
}

std::vector<std::string> MemberReader::texts(std::string_view key) {
  std::vector<std::string> list;
  const auto* value = object_.if_contains(key);
  if (value == nullptr || !value->is_array()) {
    fail(key, "must be a list");
    return list;
  }
  for (const auto& item : value->get_array()) {
    if (item.is_string()) {
      list.emplace_back(item.get_string().data(), item.get_string().size());
    } else {
      fail(key, "must be a list of texts");
    }
  }
  return list;
}

std::optional<WallTime> MemberReader::maybe_wall_time(std::string_view key) {
  if (is_null(key)) return std::nullopt;
  return wall_time(key);
}

std::optional<Span> MemberReader::maybe_span(std::string_view key) {
  if (is_null(key)) return std::nullopt;
  return Span{integer(key)};
}

}  // namespace ebbwatch
