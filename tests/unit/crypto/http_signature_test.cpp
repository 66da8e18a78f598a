#include "crypto/http_signature.h"

#include <doctest/doctest.h>

#include <map>

#include "crypto/digest.h"

using namespace ebbwatch;

namespace {

// RFC 9421 appendix B.1.5 (the key) and B.2.5 (the message, the base and the two fields).
const std::string rfc_key = *from_base64(
    "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ==");
const std::vector<SignedComponent> rfc_components = {{"date", "Tue, 20 Apr 2021 02:07:55 GMT"},
                                                     {"@authority", "example.com"},
                                                     {"content-type", "application/json"}};
const SignatureParameters rfc_parameters{.created = 1618884473, .key_id = "test-shared-secret"};
const std::string rfc_input =
    "sig-b25=(\"date\" \"@authority\" \"content-type\")"
    ";created=1618884473;keyid=\"test-shared-secret\"";
const std::string rfc_signature = "sig-b25=:pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:";

ComponentValue values(std::map<std::string, std::string> held) {
  return [held = std::move(held)](const std::string& name) -> std::optional<std::string> {
    const auto found = held.find(name);
    if (found == held.end()) return std::nullopt;
    return found->second;
  };
}

const ComponentValue rfc_values = values({rfc_components.begin(), rfc_components.end()});

ReceivedSignature received(const std::string& input, const std::string& signature) {
  auto read = read_signature(input, signature);
  REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().text));
  return read.value();
}

}  // namespace

TEST_CASE("signature_base: the 200 bytes of RFC 9421 B.2.5") {
  const std::string base = signature_base(rfc_components, rfc_parameters);
  CHECK(base.size() == 200);
  CHECK(base ==
        "\"date\": Tue, 20 Apr 2021 02:07:55 GMT\n"
        "\"@authority\": example.com\n"
        "\"content-type\": application/json\n"
        "\"@signature-params\": (\"date\" \"@authority\" \"content-type\")"
        ";created=1618884473;keyid=\"test-shared-secret\"");
}

TEST_CASE("sign: the two fields of RFC 9421 B.2.5") {
  const auto fields = sign("sig-b25", rfc_components, rfc_parameters, rfc_key);
  CHECK(fields.input == rfc_input);
  CHECK(fields.signature == rfc_signature);
}

TEST_CASE("sign: nonce and algorithm are written when asked for, and quotes are escaped") {
  const auto fields =
      sign("w", {{"@method", "POST"}},
           {.created = 5, .key_id = "a\"b\\c", .nonce = "n-1", .name_algorithm = true}, "key");
  CHECK(fields.input ==
        "w=(\"@method\");created=5;keyid=\"a\\\"b\\\\c\";nonce=\"n-1\";alg=\"hmac-sha256\"");
}

TEST_CASE("read_signature: takes RFC 9421 B.2.5 apart") {
  const auto read = received(rfc_input, rfc_signature);
  CHECK(read.label == "sig-b25");
  CHECK(read.components == std::vector<std::string>{"date", "@authority", "content-type"});
  CHECK(read.created == 1618884473);
  CHECK(read.key_id == "test-shared-secret");
  CHECK(read.nonce.empty());
  CHECK(read.signature.size() == 32);
}

TEST_CASE("verify: RFC 9421 B.2.5 holds, up to 300 s either way and not a second more") {
  const auto read = received(rfc_input, rfc_signature);
  for (const std::int64_t off : {-300, 0, 300}) {
    CHECK(verify(read, rfc_values, {}, rfc_key, 1618884473 + off).ok());
  }
  for (const std::int64_t off : {-301, 301}) {
    const auto refused = verify(read, rfc_values, {}, rfc_key, 1618884473 + off);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().code == Errc::refused);
  }
  CHECK(verify(read, rfc_values, {.required = {}, .clock_excused = true}, rfc_key, 0).ok());
}

TEST_CASE("verify: any change of message, key, parameters or signature is refused") {
  auto read = received(rfc_input, rfc_signature);
  const std::int64_t now = 1618884473;
  CHECK_FALSE(verify(read, rfc_values, {}, rfc_key + "x", now).ok());
  auto changed = std::map<std::string, std::string>(rfc_components.begin(), rfc_components.end());
  changed["@authority"] = "example.org";
  CHECK_FALSE(verify(read, values(changed), {}, rfc_key, now).ok());
  auto other_parameters = read;
  other_parameters.parameters += ";nonce=\"x\"";
  CHECK_FALSE(verify(other_parameters, rfc_values, {}, rfc_key, now).ok());
  for (std::size_t i = 0; i < read.signature.size(); ++i) {
    auto flipped = read;
    flipped.signature[i] = static_cast<char>(flipped.signature[i] ^ 1);
    CHECK_FALSE(verify(flipped, rfc_values, {}, rfc_key, now).ok());
  }
  read.signature.pop_back();
  CHECK_FALSE(verify(read, rfc_values, {}, rfc_key, now).ok());
}

TEST_CASE("verify: asks for the required components and for a creation time") {
  const auto read = received(rfc_input, rfc_signature);
  const auto uncovered =
      verify(read, rfc_values, {.required = {"date", "@method"}}, rfc_key, 1618884473);
  REQUIRE_FALSE(uncovered.ok());
  CHECK(uncovered.error().text == "The signature does not cover \"@method\"; sign it too.");
  const auto missing = verify(read, values({{"date", "x"}}), {}, rfc_key, 1618884473);
  REQUIRE_FALSE(missing.ok());
  CHECK(missing.error().code == Errc::bad_input);
  const auto timeless = received("s=(\"date\");keyid=\"k\"", "s=:AAAA:");
  REQUIRE_FALSE(verify(timeless, rfc_values, {}, rfc_key, 0).ok());
  CHECK(verify(timeless, rfc_values, {}, rfc_key, 0).error().code == Errc::bad_input);
}

TEST_CASE("verify: an alg that differs from the key's own is ignored, and expires is honoured") {
  // The base is made by hand so that the parameters are those of a foreign sender.
  const std::string parameters = "(\"date\");created=100;alg=\"rsa-v1_5-sha256\";expires=160";
  const std::string base = "\"date\": x\n\"@signature-params\": " + parameters;
  const auto mac = hmac_sha256(rfc_key, base);
  const auto read = received("s=" + parameters, "s=:" + to_base64(mac) + ":");
  CHECK(read.algorithm == "rsa-v1_5-sha256");
  CHECK(verify(read, values({{"date", "x"}}), {}, rfc_key, 160).ok());
  CHECK_FALSE(verify(read, values({{"date", "x"}}), {}, rfc_key, 161).ok());
}

TEST_CASE(
    "read_signature: the first label is read, also among several and with unknown parameters") {
  const auto read =
      received("a=( \"@method\"  \"@path\" );created=7;x;y=?1;tag=\"t\", b=(\"date\")",
               "b=:AAAA:, a=:AQID:");
  CHECK(read.components == std::vector<std::string>{"@method", "@path"});
  CHECK(read.parameters == "( \"@method\"  \"@path\" );created=7;x;y=?1;tag=\"t\"");
  CHECK(read.signature == "\x01\x02\x03");
}

TEST_CASE("read_signature: malformed fields are refused") {
  const std::vector<std::pair<std::string, std::string>> bad = {
      {"", ""},
      {"s", "s=:AAAA:"},
      {"s=", "s=:AAAA:"},
      {"S=(\"date\")", "S=:AAAA:"},
      {"s=(date)", "s=:AAAA:"},
      {"s=(\"date)", "s=:AAAA:"},
      {"s=(\"date\"", "s=:AAAA:"},
      {"s=(\"date\"\"x\")", "s=:AAAA:"},
      {"s=(\"date\";req)", "s=:AAAA:"},
      {"s=(\"da\\te\")", "s=:AAAA:"},
      {"s=(\"date\");created=x", "s=:AAAA:"},
      {"s=(\"date\");created=99999999999999999999", "s=:AAAA:"},
      {"s=(\"date\");keyid=7", "s=:AAAA:"},
      {"s=(\"date\");=7", "s=:AAAA:"},
      {"s=(\"date\") junk", "s=:AAAA:"},
      {"s=(\"date\")", "s=AAAA"},
      {"s=(\"date\")", "s=:AAA:"},
      {"s=(\"date\")", "s=:AAAA"},
      {"s=(\"date\")", "t=:AAAA:"},
      {"s=(\"date\")", "s=:AAAA: junk"},
      {"s=(\"date\")", "s=:AAAA:,"},
      {"s=(\"" + std::string(5000, 'a') + "\")", "s=:AAAA:"}};
  for (const auto& [input, signature] : bad) {
    CAPTURE(input);
    CAPTURE(signature);
    const auto read = read_signature(input, signature);
    REQUIRE_FALSE(read.ok());
    CHECK(read.error().code == Errc::bad_input);
    CHECK_FALSE(read.error().text.empty());
  }
}
