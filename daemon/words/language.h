// The languages that ebbwatch speaks to people. Pages, commands and the log are in English; notices
// and answers are in the keyholder's language.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

enum class Language : std::uint8_t { english, german, spanish };
inline constexpr std::array all_languages{Language::english, Language::german, Language::spanish};

/// Its tag in RFC 5646: "en", "de", "es".
const char* code(Language language);
/// Of a tag with or without a region: "de", "de-AT". Empty when it is none of ours.
std::optional<Language> known_language(std::string_view tag);
/// The first of a person's languages that is known; English when none is.
Language first_known_language(const std::vector<std::string>& tags);
/// "en, de, es"
std::string language_codes();

}  // namespace ebbwatch
