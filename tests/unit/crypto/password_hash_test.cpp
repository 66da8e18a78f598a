#include "crypto/password_hash.h"

#include <doctest/doctest.h>

#include <array>

#include "crypto/digest.h"

using namespace ebbwatch;

namespace {

std::string hex(const std::string& bytes) {
  return to_hex({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

constexpr ScryptCost cheap{4, 1, 1};

}  // namespace

// RFC 7914 section 12, vectors 1 and 2.
TEST_CASE("scrypt: the vectors of RFC 7914 hold") {
  CHECK(hex(scrypt("", "", {4, 1, 1}, 64)) ==
        "77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442"
        "fcd0069ded0948f8326a753a0fc81f17e8d3e0fb2e0d3628cf35e20c38d18906");
  CHECK(hex(scrypt("password", "NaCl", {10, 8, 16}, 64)) ==
        "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"
        "2eaf30d92e22a3886ff109279d9830dac727afb94a83ee6d8360cbdfa2cc0640");
}

TEST_CASE("scrypt: a cost beyond the ceiling gives nothing") {
  CHECK(scrypt("a", "b", {24, 64, 1}, 32).empty());
  CHECK(scrypt("a", "b", {0, 8, 1}, 32).empty());
  CHECK(scrypt("a", "b", {63, 8, 1}, 32).empty());
}

TEST_CASE("password: the right one matches, others and damaged hashes do not") {
  const std::array<std::uint8_t, 16> salt{1, 2, 3};
  const auto stored = hash_password("a long pass phrase", salt, cheap);
  CHECK(stored.rfind("scrypt:4:1:1:", 0) == 0);
  CHECK(password_matches("a long pass phrase", stored));
  CHECK_FALSE(password_matches("a long pass phrasE", stored));
  CHECK_FALSE(password_matches("", stored));
  for (std::size_t length = 0; length < stored.size(); ++length) {
    CHECK_FALSE(password_matches("a long pass phrase", stored.substr(0, length)));
  }
  CHECK_FALSE(password_matches("", "scrypt:99:8:1:AAAA:AAAA"));
}

TEST_CASE("password: another salt gives another hash") {
  const std::array<std::uint8_t, 16> one{1}, other{2};
  CHECK(hash_password("same", one, cheap) != hash_password("same", other, cheap));
}
