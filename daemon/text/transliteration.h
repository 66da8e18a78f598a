// Near forms of characters that the GSM 7-bit alphabet lacks. Used by gsm7.* only.
#pragma once

#include <optional>
#include <string_view>

namespace ebbwatch {

/// The nearest form of `character` in the GSM 7-bit alphabet, as UTF-8; may be empty (a combining
/// mark, a soft hyphen). Empty optional when there is none. Characters that the alphabet has, and
/// those whose form depends on their neighbours (the degree sign), are not its business.
std::optional<std::string_view> near_gsm7_form(char32_t character);

bool is_greek_letter(char32_t character);

}  // namespace ebbwatch
