#include "text/identifier.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("identifier: 1 to 63 of a-z 0-9 -, starting with a letter") {
  for (const std::string& good : {std::string("a"), std::string("lagoon-main"),
                                  std::string("r2-d2"), std::string("a-"), std::string(63, 'x')}) {
    CAPTURE(good);
    CHECK(is_identifier(good));
  }
  for (const std::string& bad :
       {std::string(), std::string("1a"), std::string("-a"), std::string("Lagoon"),
        std::string("a_b"), std::string("a b"), std::string("caf\xc3\xa9"), std::string(64, 'x')}) {
    CAPTURE(bad);
    CHECK_FALSE(is_identifier(bad));
  }
}

TEST_CASE("identifier: the nearest known word is found for one or two slips") {
  const std::vector<std::string> known{"on_delay", "off_delay", "min_missed", "quorum"};
  CHECK(nearest_word("on_dealy", known) == "on_delay");
  CHECK(nearest_word("of_delay", known) == "on_delay");  // One edit from both: the first listed.
  CHECK(nearest_word("quroum", known) == "quorum");
  CHECK(nearest_word("min_misse", known) == "min_missed");
}

TEST_CASE("identifier: no suggestion for a word that is too far off or too short") {
  CHECK_FALSE(nearest_word("interval", {"on_delay", "off_delay"}).has_value());
  CHECK_FALSE(nearest_word("ab", {"cb"}).has_value());  // One edit of two letters says nothing.
  CHECK(nearest_word("abc", {"abd"}) == "abd");
  CHECK_FALSE(nearest_word("", {"a"}).has_value());
  CHECK_FALSE(nearest_word("quorum", {}).has_value());
}

TEST_CASE("uuid_v7: RFC 9562 appendix A.6") {
  // unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
  const unsigned char random[10] = {0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f};
  CHECK(uuid_v7(1645557742000, random) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
}

TEST_CASE("uuid_v7: version and variant stand whatever the random bytes are") {
  const unsigned char ones[10] = {255, 255, 255, 255, 255, 255, 255, 255, 255, 255};
  CHECK(uuid_v7(0, ones) == "00000000-0000-7fff-bfff-ffffffffffff");
}
