#include "charts/lettering.h"

#include <doctest/doctest.h>

using namespace ebbwatch::charts;

TEST_CASE("lettering: XML's own characters are escaped, in texts and in attributes") {
  CHECK(escaped("a<b>&\"c\"'") == "a&lt;b&gt;&amp;&quot;c&quot;&#39;");
}

TEST_CASE("lettering: control characters and broken UTF-8 are replaced, line ends become spaces") {
  CHECK(clean(std::string("a\x01") + "b\nc\xFF") == "a\uFFFDb c\uFFFD");
  CHECK(clean("Eßlingen 25 °C") == "Eßlingen 25 °C");
  CHECK(clean("\xEF\xBF\xBE") == "\uFFFD");  // U+FFFE is not allowed in XML 1.0, section 2.2.
}

TEST_CASE("lettering: widths count characters, not bytes") {
  CHECK(width("°C") == 2);
  CHECK(right_aligned("°C", 4) == "  °C");
  CHECK(cut("lagoon-main", 8) == "lagoon..");
  CHECK(cut("lagoon", 6) == "lagoon");
  CHECK(cut("lagoon", 2) == "la");
}

TEST_CASE("lettering: long texts are broken at spaces, very long words anywhere") {
  using Lines = std::vector<std::string>;
  CHECK(wrapped("one two three", 7) == Lines{"one two", "three"});
  CHECK(wrapped("abcdefgh ij", 3) == Lines{"abc", "def", "gh", "ij"});
  CHECK(wrapped("", 5) == Lines{""});
  CHECK(wrapped("abcdef", 3) == Lines{"abc", "def"});
}
