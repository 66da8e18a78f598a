#include "text/gsm7.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace ebbwatch;

namespace {

std::string times(std::size_t count, const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < count; ++i) out += text;
  return out;
}

std::string hex(const std::string& bytes) {
  const char* digits = "0123456789ABCDEF";
  std::string out;
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    out += digits[byte >> 4];
    out += digits[byte & 15];
  }
  return out;
}

std::string shown(const std::string& text) {
  const auto found = segments(text);
  if (!found) return "not UTF-8";
  const bool gsm7 = found->alphabet == Segments::Alphabet::gsm7;
  return std::string(gsm7 ? "GSM7" : "UCS2") + ", " + std::to_string(found->units) + ", " +
         std::to_string(found->count);
}

}  // namespace

// Limits of 3GPP TS 23.040 §9.2.3.24.1 (160/153 septets, 70/67 units of UCS-2); expected values
// from an independent encoder whose long messages an open-source SMS gateway's modem driver also
// produced.
TEST_CASE("gsm7: segments are counted as networks count them") {
  CHECK(shown("") == "GSM7, 0, 1");
  CHECK(shown(times(160, "a")) == "GSM7, 160, 1");
  CHECK(shown(times(161, "a")) == "GSM7, 161, 2");
  CHECK(shown(times(306, "a")) == "GSM7, 306, 2");
  CHECK(shown(times(307, "a")) == "GSM7, 307, 3");
  CHECK(shown(times(158, "a") + "€") == "GSM7, 160, 1");
  CHECK(shown(times(159, "a") + "€") == "GSM7, 161, 2");
  CHECK(shown(times(70, "Ж")) == "UCS2, 70, 1");
  CHECK(shown(times(71, "Ж")) == "UCS2, 71, 2");
  CHECK(shown(times(134, "Ж")) == "UCS2, 134, 2");
  CHECK(shown(times(135, "Ж")) == "UCS2, 135, 3");
  CHECK(shown(times(35, "\U0001F41F")) == "UCS2, 70, 1");
  CHECK(shown(times(36, "\U0001F41F")) == "UCS2, 72, 2");
  CHECK(shown("26 °C") == "UCS2, 5, 1");
  CHECK(shown("26 C") == "GSM7, 4, 1");
  CHECK(shown("`") == "UCS2, 1, 1");
}

TEST_CASE("gsm7: an extension character is never split between segments") {
  CHECK(shown(times(152, "a") + "€" + times(152, "a")) == "GSM7, 306, 3");
}

TEST_CASE("gsm7: a surrogate pair is never split between segments") {
  // 66 units, then a pair that would straddle unit 67: it moves on, so the rest needs a third one.
  CHECK(shown(times(66, "Ж") + "\U0001F41F" + times(66, "Ж")) == "UCS2, 134, 3");
}

TEST_CASE("gsm7: what is not UTF-8 has no segments") {
  CHECK_FALSE(segments("\xFF").has_value());
  CHECK_FALSE(segments("caf\xE9").has_value());
}

// 3GPP TS 23.038 §6.1.2.1; values computed independently and found in public test suites.
TEST_CASE("gsm7: septets are packed with the first character in the low bits") {
  CHECK(hex(gsm7_packed("hello").value()) == "E8329BFD06");
  CHECK(hex(gsm7_packed("hellohello").value()) == "E8329BFD4697D9EC37");
  CHECK(hex(gsm7_packed("€").value()) == "9B32");
  // User data of messages that an open-source SMS gateway (Kannel 1.4.5) wrote to a modem.
  CHECK(hex(gsm7_packed("Tank A: no contact 12 min").value()) ==
        "D4B07B0D0AEA40EE3768FC76D3C3633A282603B5D36E");
  CHECK(hex(gsm7_packed("{[€]} Großes").value()) == "1BD486B7296F7C9B14E8287F7BCA73");
  CHECK_FALSE(gsm7_packed("26 °C").has_value());
}

TEST_CASE("gsm7: extension characters take two septets, others one") {
  CHECK(gsm7_septets("") == 0);
  CHECK(gsm7_septets("^{}\\[~]|€\f") == 20);
  CHECK(gsm7_septets("Ä ß Ω ¿") == 7);
  CHECK(gsm7_septets(times(160, "a")) == 160);
}

TEST_CASE("gsm7: every character of the alphabet comes back unchanged") {
  const std::string alphabet =
      "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
      "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà^{}\\[~]|€\f";
  CHECK(is_gsm7(alphabet));
  CHECK(to_gsm7(alphabet) == alphabet);
  CHECK(gsm7_septets(alphabet) == 127 + 20);
}

TEST_CASE("gsm7: characters that are often typed but not in the alphabet are not taken for it") {
  for (const char* outside : {"°", "`", "ç", "á", "í", "ó", "ú", "ê", "’", "–", "\t", "\x1b"}) {
    CAPTURE(outside);
    CHECK_FALSE(is_gsm7(outside));
    CHECK(is_gsm7(to_gsm7(outside)));
  }
}

TEST_CASE("gsm7: a temperature loses its degree sign, not its space") {
  CHECK(to_gsm7("26 °C") == "26 C");
  CHECK(to_gsm7("26°C") == "26 C");
  CHECK(to_gsm7("turned by 90°") == "turned by 90 deg");
  CHECK(to_gsm7("turned by 90 °, then") == "turned by 90 deg, then");
  CHECK(to_gsm7("25.4 ℃") == "25.4 C");
}

TEST_CASE("gsm7: typographic characters become the plain ones") {
  CHECK(to_gsm7("“Reef” ‘A’ – it’s off… now — really") ==
        "\"Reef\" 'A' - it's off... now - really");
  CHECK(to_gsm7("„Riff“ «récif» ‹x›") == "\"Riff\" \"récif\" 'x'");
  CHECK(to_gsm7("a\u00A0b\u2009c\td") == "a b c d");
  CHECK(to_gsm7("450 l × 2 ≤ 1 m³ → CO₂ ½") == "450 l x 2 <= 1 m3 -> CO2 1/2");
}

TEST_CASE("gsm7: accented letters become their base letters") {
  CHECK(to_gsm7("Čížek, Łódź, São João, Besançon") == "Cizek, Lodz, Sao Joao, Besancon");
  CHECK(to_gsm7("Zürich, Malmö, Café, Œuvre, Þór") == "Zürich, Malmö, Café, OEuvre, Thor");
  // The same letters written as base letter and combining mark.
  CHECK(to_gsm7("Cafe\u0301") == "Cafe");
}

TEST_CASE("gsm7: Cyrillic and Greek stay readable") {
  CHECK(to_gsm7("Бак 1: нет связи") == "Bak 1: net svyazi");
  CHECK(to_gsm7("Щука, Жёлтый, Київ") == "Shchuka, Zhyoltyy, Kiyiv");
  CHECK(to_gsm7("Ενυδρείο") == "ENYΔPEIO");
  CHECK(to_gsm7("Γιώργος") == "ΓIΩPΓOΣ");
}

TEST_CASE("gsm7: the micro prefix is not taken for a Greek letter") {
  CHECK(to_gsm7("5 µS, 5 μS, 3 μm") == "5 uS, 5 uS, 3 um");
  CHECK(to_gsm7("μικρό") == "MIKPO");
}

TEST_CASE("gsm7: a run of characters without a form becomes one question mark") {
  CHECK(to_gsm7("Lagoon \U0001F41F\U0001F420!") == "Lagoon ?!");
  CHECK(to_gsm7("水族館 1") == "? 1");
  // Joined emoji and a variation selector are one run as well.
  CHECK(to_gsm7("\U0001F468\u200D\U0001F469 \u2764\uFE0F") == "? ?");
  CHECK(to_gsm7("bad \xFF\xFE bytes") == "bad ? bytes");
}

TEST_CASE("gsm7: control characters do not reach a telephone") {
  CHECK(to_gsm7(std::string("a\0b\x1b"
                            "c\x7f"
                            "d\ne",
                            9)) == "abcd\ne");
}

TEST_CASE("gsm7: whatever comes in, what comes out is in the alphabet") {
  for (char32_t c = 1; c < 0x3000; ++c) {
    std::string text = "x";
    if (c < 0x80) {
      text += static_cast<char>(c);
    } else if (c < 0x800) {
      text += static_cast<char>(0xC0 | c >> 6);
      text += static_cast<char>(0x80 | (c & 0x3F));
    } else {
      text += static_cast<char>(0xE0 | c >> 12);
      text += static_cast<char>(0x80 | (c >> 6 & 0x3F));
      text += static_cast<char>(0x80 | (c & 0x3F));
    }
    CAPTURE(static_cast<unsigned>(c));
    REQUIRE(is_gsm7(to_gsm7(text)));
  }
}

TEST_CASE("gsm7: a beginning ends between characters") {
  CHECK(gsm7_beginning("abc", 2) == "ab");
  CHECK(gsm7_beginning("a€b", 2) == "a");
  CHECK(gsm7_beginning("a€b", 3) == "a€");
  CHECK(gsm7_beginning("äöü", 2) == "äö");
  CHECK(gsm7_beginning("abc", 160) == "abc");
}
