// The fields of a check-in, one rule each: what a value may be, what to say when it is not. Shared
// by the JSON and the form reader.
#pragma once

#include <string>
#include <string_view>

#include "core/result.h"
#include "ingest/check_in.h"

namespace ebbwatch {

/// One value as it came.
struct FieldValue {
  enum class Kind { number, truth, text, other };
  Kind kind = Kind::other;
  double number = 0;
  bool truth = false;
  std::string text;
  /// From a form: everything is text, and text that reads as the wanted type is good.
  bool from_form = false;
  std::string shown;  ///< For error texts: short, one line, quoted where it is text.
};

/// Whether version 1 has this field (without `readings` and the names of readings).
bool is_field(std::string_view name);
/// Sets one field. @pre is_field(name).
Result<void> set_field(ParsedCheckIn& out, std::string_view name, const FieldValue& value);

/// Whether this is a reading that version 1 names.
bool is_known_reading(std::string_view name);
/// Adds a reading; `part` is empty for a plain one. Errors: a bad name, a wrong type, too many, or
/// one that is there already.
Result<void> add_reading(ParsedCheckIn& out, std::string_view name, std::string_view part,
                         const FieldValue& value);

/// Adds all readings of a JSON object given as text.
Result<void> add_readings_text(ParsedCheckIn& out, std::string_view text);

/// One name and its value out of a form, whatever they mean; unknown names are ignored.
Result<void> take_form_pair(ParsedCheckIn& out, std::string_view name, std::string_view value);

/// A form value as a FieldValue.
FieldValue form_value(std::string_view text);
/// Text from outside, quoted, cut after 40 bytes; a question mark for each control character and
/// each byte that is not UTF-8.
std::string shown_text(std::string_view text);

}  // namespace ebbwatch
