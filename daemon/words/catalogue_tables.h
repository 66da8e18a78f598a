// The tables behind phrase(), one a language. Used by catalogue*.cpp only.
#pragma once

#include <array>

#include "words/catalogue.h"

namespace ebbwatch {

struct PhraseText {
  Phrase phrase;
  const char* text;
};
using PhraseTable = std::array<PhraseText, phrase_count>;

/// Whether each phrase stands at its own place: none is missing, none there twice.
constexpr bool in_order(const PhraseTable& table) {
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (static_cast<std::size_t>(table[i].phrase) != i || table[i].text == nullptr) return false;
  }
  return true;
}

const PhraseTable& english_phrases();
const PhraseTable& german_phrases();
const PhraseTable& spanish_phrases();

}  // namespace ebbwatch
