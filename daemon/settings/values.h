// Readers of single values: each takes a node, says what is wrong with it, and fills its target.
// Private to settings/.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/site_plan.h"
#include "core/time.h"
#include "settings/reader.h"
#include "settings/settings.h"

namespace ebbwatch {

// Texts are kept even when they are wrong, so that references to them do not raise further
// problems.

/// Any text that is not empty; line ends allowed.
bool free_text(Reader& reader, const Cursor& at, std::string& out);
/// One line without control characters.
bool line_text(Reader& reader, const Cursor& at, std::string& out);
bool identifier(Reader& reader, const Cursor& at, std::string& out);
/// One line of at most limits::name_chars_max characters.
bool person_name(Reader& reader, const Cursor& at, std::string& out);
/// all, majority, or a whole number from 1.
bool quorum(Reader& reader, const Cursor& at, Quorum& out);
/// true or false.
bool truth(Reader& reader, const Cursor& at, bool& out);
/// "N per day|week|month|year"
bool rate(Reader& reader, const Cursor& at, Rate& out);
/// "08:30" as the minute of the day.
bool time_of_day_minute(Reader& reader, const Cursor& at, std::int32_t& out);
/// "2026-12-25" as the day since 1970-01-01.
bool calendar_day(Reader& reader, const Cursor& at, std::int64_t& out);
/// The name of a time zone that this machine's database has, "Europe/Berlin".
bool time_zone(Reader& reader, const Cursor& at, TimeZone& out);
/// The machine's own; UTC when it has none.
TimeZone machine_time_zone();
/// {file: PATH}, {credential: NAME} or {env: NAME}. A literal is refused and never repeated in the
/// problem.
bool secret(Reader& reader, const Cursor& at, SecretSource& out);
/// A path as text or as {file: PATH}.
bool certificate_file(Reader& reader, const Cursor& at, SecretSource& out);
/// A mapping of any names to texts, in the order of the file.
bool text_pairs(Reader& reader, const Cursor& at,
                std::vector<std::pair<std::string, std::string>>& out);

/// A duration from `least` to `most`, both allowed.
ReadValue<Span> span(Span least, Span most);
/// A decimal number above `above` (or equal to it when `or_equal`) and up to `most`.
ReadValue<double> number(double above, bool or_equal, double most);
/// The plain whole number of a node; empty when it is none (nothing is reported).
std::optional<std::int64_t> whole_number(const YamlNode& node);

template <class Int>
ReadValue<Int> whole(std::int64_t least, std::int64_t most) {
  return [least, most](Reader& reader, const Cursor& at, Int& out) {
    const auto value = whole_number(*at.node);
    if (!value || *value < least || *value > most) {
      reader.problem(at, describe(*at.node),
                     "a whole number from " + std::to_string(least) + " to " + std::to_string(most),
                     at.node->quoted && !at.node->text.empty() ? "Write it without quotes." : "");
      return false;
    }
    out = static_cast<Int>(*value);
    return true;
  };
}

/// One of some words.
template <class Value>
ReadValue<Value> choice(std::vector<std::pair<std::string, Value>> words) {
  return [words = std::move(words)](Reader& reader, const Cursor& at, Value& out) {
    std::vector<std::string> names;
    for (const auto& [name, value] : words) {
      if (at.node->kind == YamlNode::Kind::scalar && at.node->text == name)
        return out = value, true;
      names.push_back(name);
    }
    reader.problem(at, describe(*at.node), join(names), did_you_mean(at.node->text, names));
    return false;
  };
}

/// A list of values that is not empty.
template <class Value>
ReadValue<std::vector<Value>> values_of(ReadValue<Value> read) {
  return [read = std::move(read)](Reader& reader, const Cursor& at, std::vector<Value>& out) {
    out.clear();
    const bool is_list = reader.walk_list(at, 0, [&](const Cursor& item) {
      Value value{};
      if (read(reader, item, value)) out.push_back(std::move(value));
    });
    if (is_list && at.node->items.empty()) reader.problem(at, "an empty list", "at least one");
    return is_list;
  };
}

}  // namespace ebbwatch
