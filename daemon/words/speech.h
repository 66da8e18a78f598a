// Speaking one language at one time: phrases of the catalogue with their gaps filled, and times of
// day as that language puts them into sentences. Pure but for the machine's time zone; two words in
// size, so it is made where it is needed. Lengths of time ("12 min") are the same in all languages:
// units are symbols.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>

#include "core/time.h"
#include "words/catalogue.h"
#include "words/fill.h"
#include "words/language.h"

namespace ebbwatch {

class Speech {
 public:
  /// @param now what times of day are seen from: those over 20 h away are told with their date.
  Speech(Language language, WallTime now) : language_(language), now_(now) {}

  Language language() const { return language_; }
  std::string operator()(Phrase which, std::initializer_list<Gap> gaps = {}) const;

  std::string time(WallTime at) const;   ///< "14:02", "22 Feb 14:02"
  std::string at(WallTime at) const;     ///< "at 14:02"
  std::string since(WallTime at) const;  ///< "since 14:02"
  std::string from(WallTime at) const;   ///< "from 14:02"
  std::string to(WallTime at) const;     ///< "to 14:02"
  std::string until(WallTime at) const;  ///< "until 14:02"

 private:
  std::string told(Phrase today, Phrase dated, WallTime at) const;

  Language language_;
  WallTime now_;
};

/// A number that is written with a point, as the language writes it: "25,4".
std::string number_in(Language language, std::string number);
/// With its first letter large, where that is a Latin one.
std::string capital(std::string text);

}  // namespace ebbwatch
