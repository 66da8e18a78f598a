#include "text/transliteration.h"

#include <algorithm>
#include <array>

namespace ebbwatch {
namespace {

using Form = const char*;  // Null where there is none.

// U+00A0 to U+017F: Latin-1 and Latin Extended-A without their marks. Hungarian long vowels keep
// the dots that the alphabet has. Characters of the alphabet itself never get here.
constexpr char32_t latin_first = 0xA0;
constexpr std::array<Form, 0x180 - 0xA0> latin{
    " ",     nullptr, "c",  nullptr, nullptr, nullptr, "|",   nullptr, "",      "(c)",   "a",
    "\"",    nullptr, "",   "(R)",   "-",     nullptr, "+/-", "2",     "3",     "'",     "u",
    nullptr, "-",     "",   "1",     "o",     "\"",    "1/4", "1/2",   "3/4",   nullptr, "A",
    "A",     "A",     "A",  "A",     "A",     nullptr, "C",   "E",     "E",     "E",     "E",
    "I",     "I",     "I",  "I",     "D",     "N",     "O",   "O",     "O",     "O",     "O",
    "x",     nullptr, "U",  "U",     "U",     "U",     "Y",   "Th",    nullptr, "a",     "a",
    "a",     "a",     "a",  "a",     nullptr, "c",     "e",   "e",     "e",     "e",     "i",
    "i",     "i",     "i",  "d",     "n",     "o",     "o",   "o",     "o",     "o",     "/",
    nullptr, "u",     "u",  "u",     "u",     "y",     "th",  "y",     "A",     "a",     "A",
    "a",     "A",     "a",  "C",     "c",     "C",     "c",   "C",     "c",     "C",     "c",
    "D",     "d",     "D",  "d",     "E",     "e",     "E",   "e",     "E",     "e",     "E",
    "e",     "E",     "e",  "G",     "g",     "G",     "g",   "G",     "g",     "G",     "g",
    "H",     "h",     "H",  "h",     "I",     "i",     "I",   "i",     "I",     "i",     "I",
    "i",     "I",     "i",  "IJ",    "ij",    "J",     "j",   "K",     "k",     "k",     "L",
    "l",     "L",     "l",  "L",     "l",     "L",     "l",   "L",     "l",     "N",     "n",
    "N",     "n",     "N",  "n",     "'n",    "N",     "n",   "O",     "o",     "O",     "o",
    "Ö",     "ö",     "OE", "oe",    "R",     "r",     "R",   "r",     "R",     "r",     "S",
    "s",     "S",     "s",  "S",     "s",     "S",     "s",   "T",     "t",     "T",     "t",
    "T",     "t",     "U",  "u",     "U",     "u",     "U",   "u",     "U",     "u",     "Ü",
    "ü",     "U",     "u",  "W",     "w",     "Y",     "y",   "Y",     "Z",     "z",     "Z",
    "z",     "Z",     "z",  "s"};

// U+0386 to U+03CE in capitals. The alphabet has those Greek capitals that do not look like a Latin
// letter, and Greek text messages have always been written in them.
constexpr char32_t greek_first = 0x386;
constexpr std::array<Form, 0x3CF - 0x386> greek{
    "A", "-", "E", "H", "I", nullptr, "O", nullptr, "Y", "Ω", "I", "A", "B", "Γ",     "Δ",
    "E", "Z", "H", "Θ", "I", "K",     "Λ", "M",     "N", "Ξ", "O", "Π", "P", nullptr, "Σ",
    "T", "Y", "Φ", "X", "Ψ", "Ω",     "I", "Y",     "A", "E", "H", "I", "Y", "A",     "B",
    "Γ", "Δ", "E", "Z", "H", "Θ",     "I", "K",     "Λ", "M", "N", "Ξ", "O", "Π",     "P",
    "Σ", "Σ", "T", "Y", "Φ", "X",     "Ψ", "Ω",     "I", "Y", "O", "Y", "Ω"};

// U+0400 to U+045F in Latin letters, as on signs and maps in English; soft and hard signs fall
// away.
constexpr char32_t cyrillic_first = 0x400;
constexpr std::array<Form, 0x60> cyrillic{
    "E", "Yo", "Dj", "G", "Ye", "Dz", "I",  "Yi", "J",  "Lj",   "Nj", "C", "K", "I", "U",  "Dz",
    "A", "B",  "V",  "G", "D",  "E",  "Zh", "Z",  "I",  "Y",    "K",  "L", "M", "N", "O",  "P",
    "R", "S",  "T",  "U", "F",  "Kh", "Ts", "Ch", "Sh", "Shch", "",   "Y", "",  "E", "Yu", "Ya",
    "a", "b",  "v",  "g", "d",  "e",  "zh", "z",  "i",  "y",    "k",  "l", "m", "n", "o",  "p",
    "r", "s",  "t",  "u", "f",  "kh", "ts", "ch", "sh", "shch", "",   "y", "",  "e", "yu", "ya",
    "e", "yo", "dj", "g", "ye", "dz", "i",  "yi", "j",  "lj",   "nj", "c", "k", "i", "u",  "dz"};

struct Single {
  char32_t character;
  Form form;
};
// In the order of the code points.
constexpr std::array singles{
    Single{U'\t', " "},    Single{U'`', "'"},    Single{0x0192, "f"},  Single{0x01CD, "A"},
    Single{0x01CE, "a"},   Single{0x0218, "S"},  Single{0x0219, "s"},  Single{0x021A, "T"},
    Single{0x021B, "t"},   Single{0x02BC, "'"},  Single{0x02C6, ""},   Single{0x02DC, "-"},
    Single{0x0490, "G"},   Single{0x0491, "g"},  Single{0x1E9E, "SS"}, Single{0x2010, "-"},
    Single{0x2011, "-"},   Single{0x2012, "-"},  Single{0x2013, "-"},  Single{0x2014, "-"},
    Single{0x2015, "-"},   Single{0x2018, "'"},  Single{0x2019, "'"},  Single{0x201A, "'"},
    Single{0x201B, "'"},   Single{0x201C, "\""}, Single{0x201D, "\""}, Single{0x201E, "\""},
    Single{0x201F, "\""},  Single{0x2020, "+"},  Single{0x2022, "-"},  Single{0x2026, "..."},
    Single{0x2028, "\n"},  Single{0x2029, "\n"}, Single{0x202F, " "},  Single{0x2032, "'"},
    Single{0x2033, "\""},  Single{0x2039, "'"},  Single{0x203A, "'"},  Single{0x2043, "-"},
    Single{0x2044, "/"},   Single{0x205F, " "},  Single{0x2103, "C"},  Single{0x2109, "F"},
    Single{0x2116, "No."}, Single{0x2122, "TM"}, Single{0x2126, "Ω"},  Single{0x212A, "K"},
    Single{0x212B, "Å"},   Single{0x2190, "<-"}, Single{0x2192, "->"}, Single{0x2212, "-"},
    Single{0x2215, "/"},   Single{0x2248, "~"},  Single{0x2264, "<="}, Single{0x2265, ">="},
    Single{0x3000, " "},   Single{0xFB00, "ff"}, Single{0xFB01, "fi"}, Single{0xFB02, "fl"}};

constexpr std::array<Form, 10> digits{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"};

bool within(char32_t character, char32_t first, char32_t last) {
  return character >= first && character <= last;
}

// Marks that only change the character before, and marks that nobody sees.
bool is_without_width(char32_t character) {
  return within(character, 0x0300, 0x036F) || within(character, 0x200B, 0x200F) ||
         within(character, 0x202A, 0x202E) || within(character, 0x2060, 0x2064) ||
         within(character, 0xFE00, 0xFE0F) || character == 0xFEFF;
}

Form ranged_form(char32_t character) {
  if (within(character, latin_first, 0x17F)) return latin[character - latin_first];
  if (within(character, greek_first, 0x3CE)) return greek[character - greek_first];
  if (within(character, cyrillic_first, 0x45F)) return cyrillic[character - cyrillic_first];
  if (within(character, 0x2000, 0x200A)) return " ";
  if (character == 0x2070 || within(character, 0x2074, 0x2079)) return digits[character - 0x2070];
  if (within(character, 0x2080, 0x2089)) return digits[character - 0x2080];
  if (is_without_width(character)) return "";
  return nullptr;
}

}  // namespace

std::optional<std::string_view> near_gsm7_form(char32_t character) {
  const auto* single = std::lower_bound(
      singles.begin(), singles.end(), character,
      [](const Single& entry, char32_t wanted) { return entry.character < wanted; });
  const bool is_single = single != singles.end() && single->character == character;
  const Form form = is_single ? single->form : ranged_form(character);
  if (form == nullptr) return std::nullopt;
  return std::string_view(form);
}

bool is_greek_letter(char32_t character) {
  return within(character, greek_first, 0x3CE) && character != 0x387;
}

}  // namespace ebbwatch
