#include "words/catalogue.h"

#include "words/catalogue_tables.h"

namespace ebbwatch {
namespace {

const PhraseTable& table_of(Language language) {
  switch (language) {
    case Language::german:
      return german_phrases();
    case Language::spanish:
      return spanish_phrases();
    case Language::english:
      break;
  }
  return english_phrases();
}

}  // namespace

std::string_view phrase(Language language, Phrase which) {
  return table_of(language)[static_cast<std::size_t>(which)].text;
}

}  // namespace ebbwatch
