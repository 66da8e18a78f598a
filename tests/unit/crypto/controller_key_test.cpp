#include "crypto/controller_key.h"

#include <doctest/doctest.h>

#include <array>
#include <numeric>

using namespace ebbwatch;

TEST_CASE("make_key: 48 characters that lead back to the hash of the 32 bytes") {
  std::array<std::uint8_t, 32> random{};
  std::iota(random.begin(), random.end(), std::uint8_t{0});
  const auto key = make_key(random);
  // Python: base64.urlsafe_b64encode(bytes(range(32))) and hashlib.sha256(bytes(range(32))).
  CHECK(key.text == "ebb1_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8");
  CHECK(to_hex(key.hash) == "630dcd2966c4336691125448bbb25b4ff412a49c732db2c8abc1b8581bd710dd");
  CHECK(key_hash(key.text) == key.hash);
}

TEST_CASE("key_hash: texts that are no keys have none") {
  std::array<std::uint8_t, 32> random{};
  const std::string good = make_key(random).text;
  REQUIRE(key_hash(good).has_value());
  for (const std::string& bad :
       {std::string(), std::string("ebb1_"), good.substr(5), good.substr(0, 47), good + "A",
        good.substr(0, 47) + "=", good.substr(0, 47) + "+", good.substr(0, 47) + "B",
        "EBB1_" + good.substr(5), " " + good.substr(0, 47)}) {
    CAPTURE(bad);
    CHECK_FALSE(key_hash(bad).has_value());
  }
}

TEST_CASE("a key in a text that is quoted is hidden") {
  const std::string key = make_key(std::array<std::uint8_t, 32>{1, 2, 3}).text;
  CHECK(without_keys("no field \"" + key + "\", nor " + key) ==
        "no field \"ebb1_(hidden)\", nor ebb1_(hidden)");
  CHECK(without_keys("ebb1_") == "ebb1_(hidden)");
  CHECK(without_keys("nothing of it") == "nothing of it");
}
