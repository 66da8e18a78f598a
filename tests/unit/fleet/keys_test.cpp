#include "keys.h"

#include <doctest/doctest.h>

using namespace ebbwatch::fleet;

TEST_CASE("fleet keys: an object of controllers and keys") {
  const auto keys = read_keys(R"( {"lagoon-main": "ebb1_a", "kelp-main": "ebb1_b"} )");
  REQUIRE(keys.ok());
  CHECK(keys.value() ==
        std::map<std::string, std::string>{{"kelp-main", "ebb1_b"}, {"lagoon-main", "ebb1_a"}});
}

TEST_CASE(
    "fleet keys: what enrol prints, one after the other, the last key of a controller holds") {
  const auto keys = read_keys(
      "{\"controller\":\"a\",\"key\":\"k1\",\"check_in_url\":\"u\",\"capability_url\":null}\n"
      "{\n  \"controller\": \"b\",\n  \"key\": \"k2\"\n}\n{\"controller\":\"a\",\"key\":\"k3\"}");
  REQUIRE(keys.ok());
  CHECK(keys.value() == std::map<std::string, std::string>{{"a", "k3"}, {"b", "k2"}});
}

TEST_CASE("fleet keys: anything else is refused") {
  for (const char* text : {"[]", "{\"a\":1}", "{\"a\":\"k\"", "x", "{} {\"a\":[]}"}) {
    CAPTURE(text);
    CHECK_FALSE(read_keys(text).ok());
  }
  CHECK_FALSE(read_keys_file("/nonexistent/keys.json").ok());
}
