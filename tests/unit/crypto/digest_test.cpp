#include "crypto/digest.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

using namespace ebbwatch;

namespace {

std::string hmac_hex(std::string_view key, std::string_view data) {
  return to_hex(hmac_sha256(key, data));
}

std::span<const std::uint8_t> bytes(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

}  // namespace

TEST_CASE("sha256: the one-block message and the empty one of FIPS 180-4") {
  // FIPS 180-4 example "abc" (NIST, Examples with Intermediate Values).
  CHECK(to_hex(sha256("abc")) ==
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(to_hex(sha256("")) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("hmac_sha256: RFC 4231 cases 1, 2, 3, 4, 6 and 7") {
  std::string counting;
  for (char c = 1; c <= 25; ++c) counting += c;
  const std::string long_key(131, '\xaa');
  CHECK(hmac_hex(std::string(20, '\x0b'), "Hi There") ==
        "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7");
  CHECK(hmac_hex("Jefe", "what do ya want for nothing?") ==
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843");
  CHECK(hmac_hex(std::string(20, '\xaa'), std::string(50, '\xdd')) ==
        "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe");
  CHECK(hmac_hex(counting, std::string(50, '\xcd')) ==
        "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b");
  CHECK(hmac_hex(long_key, "Test Using Larger Than Block-Size Key - Hash Key First") ==
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54");
  CHECK(hmac_hex(long_key,
                 "This is a test using a larger than block-size key and a larger than block-size "
                 "data. The key needs to be hashed before being used by the HMAC algorithm.") ==
        "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2");
}

TEST_CASE("hmac_sha256: an empty key is a key and not the one of the call before") {
  (void)hmac_sha256("another key", "");
  // Computed with Python's hmac module: hmac.new(b"", b"", "sha256").
  CHECK(hmac_hex({}, "") == "b613679a0814d9ec772f95d778c35fc5ff1697c493715653c6c712144292c5ad");
}

TEST_CASE("to_base64 and from_base64: the vectors of RFC 4648 section 10") {
  const std::vector<std::pair<std::string, std::string>> vectors = {{"", ""},
                                                                    {"f", "Zg=="},
                                                                    {"fo", "Zm8="},
                                                                    {"foo", "Zm9v"},
                                                                    {"foob", "Zm9vYg=="},
                                                                    {"fooba", "Zm9vYmE="},
                                                                    {"foobar", "Zm9vYmFy"}};
  for (const auto& [plain, coded] : vectors) {
    CHECK(to_base64(bytes(plain)) == coded);
    CHECK(from_base64(coded) == plain);
  }
}

TEST_CASE("from_base64: refuses missing padding, other alphabets, line ends and spare bits") {
  for (const char* bad : {"Zg", "Zg=", "Zg===", "Z===", "====", "Zm9v\n", "Zm 9", "Zm-_",
                          "Zh==", "Zm9=", "=Zm9", "Zg==Zg=="}) {
    CAPTURE(bad);
    CHECK_FALSE(from_base64(bad).has_value());
  }
}

TEST_CASE("to_base64url: the URL-safe digits without padding") {
  // RFC 4648 section 5: values 62 and 63 are - and _.
  CHECK(to_base64url(bytes("\xfb\xff\xfe")) == "-__-");
  CHECK(to_base64(bytes("\xfb\xff\xfe")) == "+//+");
  CHECK(to_base64url(bytes("fo")) == "Zm8");
  CHECK(from_base64url("-__-") == "\xfb\xff\xfe");
  CHECK(from_base64url("Zm8") == "fo");
  for (const char* bad : {"Zm8=", "Zm9", "Z", "+//+"}) CHECK_FALSE(from_base64url(bad).has_value());
}

TEST_CASE("hexadecimal: there and back, either case in, lower case out") {
  const auto read = from_hex("00fFA5");
  REQUIRE(read.has_value());
  CHECK(to_hex(*read) == "00ffa5");
  CHECK(from_hex("")->empty());
  CHECK_FALSE(from_hex("0").has_value());
  CHECK_FALSE(from_hex("0g").has_value());
  CHECK_FALSE(from_hex("0x").has_value());
}

TEST_CASE("content_digest: the examples of RFC 9530 and the empty body") {
  // RFC 9530 appendix B.1: {"hello": "world"} with a line end.
  CHECK(content_digest("{\"hello\": \"world\"}\n") ==
        "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:");
  // RFC 9530 section 2 and RFC 9421 use the body without a line end.
  CHECK(content_digest("{\"hello\": \"world\"}") ==
        "sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:");
  CHECK(content_digest("") == "sha-256=:47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=:");
}

TEST_CASE("equal_in_constant_time: equal, different, shorter, and bytes after a zero") {
  using namespace std::string_view_literals;
  CHECK(equal_in_constant_time("", ""));
  CHECK(equal_in_constant_time("lagoon", "lagoon"));
  CHECK_FALSE(equal_in_constant_time("lagoon", "lagoom"));
  CHECK_FALSE(equal_in_constant_time("mlagoon", "nlagoon"));
  CHECK_FALSE(equal_in_constant_time("lagoon", "lagoo"));
  CHECK_FALSE(equal_in_constant_time("a\0b"sv, "a\0c"sv));
}
