#include "words/language.h"

namespace ebbwatch {

const char* code(Language language) {
  switch (language) {
    case Language::english:
      return "en";
    case Language::german:
      return "de";
    case Language::spanish:
      return "es";
  }
  return "en";
}

std::optional<Language> known_language(std::string_view tag) {
  const std::string_view main = tag.substr(0, tag.find('-'));
  for (const Language language : all_languages) {
    if (main == code(language)) return language;
  }
  return std::nullopt;
}

Language first_known_language(const std::vector<std::string>& tags) {
  for (const std::string& tag : tags) {
    if (const auto known = known_language(tag)) return *known;
  }
  return Language::english;
}

std::string language_codes() {
  std::string codes;
  for (const Language language : all_languages) {
    codes += (codes.empty() ? "" : ", ") + std::string(code(language));
  }
  return codes;
}

}  // namespace ebbwatch
