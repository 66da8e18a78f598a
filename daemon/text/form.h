// application/x-www-form-urlencoded, as browsers and simple devices send it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace ebbwatch {

/// Percent and plus decoding. Empty: a `%` without two hexadecimal digits.
std::optional<std::string> form_decode(std::string_view text);

using FormFields = std::vector<std::pair<std::string, std::string>>;
/// All pairs of a body or query, in order, decoded. Empty: one of them is malformed.
std::optional<FormFields> parse_form(std::string_view text);
/// The first value of a field; empty text when it is not there.
std::string form_value(const FormFields& fields, std::string_view name);

}  // namespace ebbwatch
