// Reads the members of a JSON object that we wrote ourselves; the first thing that is missing or of
// the wrong type is kept as an error and everything after it reads as empty.
#pragma once

#include <boost/json/object.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

class MemberReader {
 public:
  /// @param object must outlive the reader.
  explicit MemberReader(const boost::json::object& object) : object_(object) {}

  std::string text(std::string_view key);
  /// As text(), for members that rows of earlier versions do not have.
  std::string text_or_empty(std::string_view key);
  std::int64_t integer(std::string_view key);
  double number(std::string_view key);
  bool truth(std::string_view key);
  std::vector<std::string> texts(std::string_view key);
  WallTime wall_time(std::string_view key) { return {integer(key)}; }
  std::optional<WallTime> maybe_wall_time(std::string_view key);
  std::optional<Span> maybe_span(std::string_view key);
  /// The enumerator whose word() is the member's text.
  template <class Enum>
  Enum one_of(std::string_view key, std::initializer_list<Enum> values) {
    const std::string found = text(key);
    for (Enum value : values) {
      if (found == word(value)) return value;
    }
    fail(key, "is not a known word");
    return *values.begin();
  }

  bool ok() const { return problem_.empty(); }
  Error error() const { return {Errc::bad_input, problem_}; }

 private:
  bool is_null(std::string_view key) const;
  void fail(std::string_view key, const char* what);

  const boost::json::object& object_;
  std::string problem_;
};

}  // namespace ebbwatch
