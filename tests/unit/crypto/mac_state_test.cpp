#include "crypto/mac_state.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

std::string mac_of(const std::string& key, const std::string& data) {
  return to_hex(MacState::of(key).mac(data));
}

}  // namespace

TEST_CASE("mac state: gives the values of RFC 4231") {
  CHECK(mac_of(std::string(20, '\x0b'), "Hi There") ==
        "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7");  // Case 1.
  CHECK(mac_of("Jefe", "what do ya want for nothing?") ==
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843");  // Case 2.
  CHECK(mac_of(std::string(20, '\xaa'), std::string(50, '\xdd')) ==
        "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe");  // Case 3.
  CHECK(mac_of(std::string(131, '\xaa'),
               "Test Using Larger Than Block-Size Key - Hash Key First") ==
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54");  // Case 6.
}

TEST_CASE("mac state: agrees with OpenSSL's HMAC for every length around its blocks") {
  for (std::size_t key = 0; key <= 130; key += 13) {
    for (std::size_t data = 0; data <= 200; ++data) {
      const std::string key_text(key, 'k'), data_text(data, 'd');
      REQUIRE(MacState::of(key_text).mac(data_text) == hmac_sha256(key_text, data_text));
    }
  }
}

TEST_CASE("mac state: its text leads back to it, and no other text does") {
  const MacState state = MacState::of("ebb1_key");
  const std::string text = state.to_hex();
  CHECK(text.size() == 128);
  const auto again = MacState::from_hex(text);
  REQUIRE(again);
  CHECK(again->mac("message") == state.mac("message"));
  CHECK(again->to_hex() == text);
  CHECK_FALSE(MacState::from_hex(""));
  CHECK_FALSE(MacState::from_hex(text.substr(2)));
  CHECK_FALSE(MacState::from_hex(text + "00"));
  CHECK_FALSE(MacState::from_hex("zz" + text.substr(2)));
}
