#include "ingest/admission.h"

#include <doctest/doctest.h>

#include "fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

struct Fixture {
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission{entropy};
  Fixture() { admission.replace_keys(two_keys()); }

  /// "bearer lagoon-main", or "401", or "429 wait 1.000000".
  std::string admit(const HttpRequest& request, std::string_view capability = "") {
    last = admission.admit(request, capability, clock.now(), clock.wall_now());
    if (const auto* refusal = std::get_if<Refusal>(&last)) {
      std::string out = std::to_string(refusal->status);
      if (refusal->retry_after) out += " wait " + std::to_string(refusal->retry_after->seconds());
      return out;
    }
    const auto& credential = std::get<Credential>(last);
    const char* kinds[] = {"bearer ", "capability ", "signature "};
    return kinds[static_cast<int>(credential.kind)] + credential.controller;
  }
  std::string detail() const { return std::get<Refusal>(last).detail; }
  std::string field(const std::string& name) const {
    for (const auto& [held, value] : std::get<Refusal>(last).fields) {
      if (held == name) return value;
    }
    return "";
  }

  struct Signing {
    std::string nonce = "n1";
    std::int64_t created_off_s = 0;
    std::string key_id = "lagoon-main";
    std::uint8_t key = 1;
    std::string body = "{\"seq\":1}";
    std::vector<std::string> components = {"@method", "@authority", "@path", "content-digest"};
  };
  HttpRequest signed_request(const Signing& with) const {
    auto request = post(with.body);
    request.fields.emplace_back("content-digest", content_digest(with.body));
    std::vector<SignedComponent> components;
    for (const auto& name : with.components) {
      components.emplace_back(name, *component_value(request, name));
    }
    const auto hash = key_of(with.key).hash;
    const auto fields = sign("c", components,
                             {.created = clock.wall.us / 1'000'000 + with.created_off_s,
                              .key_id = with.key_id,
                              .nonce = with.nonce},
                             {reinterpret_cast<const char*>(hash.data()), hash.size()});
    request.fields.emplace_back("signature-input", fields.input);
    request.fields.emplace_back("signature", fields.signature);
    return request;
  }

  Verdict last;
};

}  // namespace

TEST_CASE_FIXTURE(Fixture, "admission: a bearer key and a capability stand for their controller") {
  CHECK(admit(post("", key_of(1).text)) == "bearer lagoon-main");
  CHECK(admit(post("", key_of(2).text)) == "bearer kelp-main");
  CHECK(admit(post(), key_of(2).text) == "capability kelp-main");
  auto request = post();
  request.fields.emplace_back("authorization", "bEARER   " + key_of(1).text);
  CHECK(admit(request) == "bearer lagoon-main");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: no, malformed and unknown credentials are 401 with a challenge") {
  for (const std::string& value :
       {std::string(), std::string("Basic abc"), std::string("Bearer"), std::string("Bearer "),
        "Bearer " + key_of(9).text, "Bearer " + key_of(1).text + "x", key_of(1).text}) {
    auto request = post();
    if (!value.empty()) request.fields.emplace_back("authorization", value);
    CAPTURE(value);
    CHECK(admit(request) == "401");
    CHECK(field("WWW-Authenticate") == "Bearer realm=\"check-in\"");
    CHECK(detail().find("ebb1_") == std::string::npos);
  }
  CHECK(admit(post(), key_of(9).text) == "401");
}

TEST_CASE_FIXTURE(Fixture, "admission: new keys hold at once and old ones no longer") {
  admission.replace_keys(
      KeyTable({{.controller = "lagoon-main", .key_hash = to_hex(key_of(3).hash), .made_at = {}}}));
  CHECK(admit(post("", key_of(1).text)) == "401");
  CHECK(admit(post("", key_of(3).text)) == "bearer lagoon-main");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: 20 check-ins at once, then one every 200 ms, for each controller") {
  for (int i = 0; i < 20; ++i) REQUIRE(admit(post("", key_of(1).text)) == "bearer lagoon-main");
  CHECK(admit(post("", key_of(1).text)) == "429 wait 0.200000");
  CHECK(admit(post("", key_of(2).text)) == "bearer kelp-main");
  clock.pass(Span::of_ms(199));
  CHECK(admit(post("", key_of(1).text)) == "429 wait 0.001000");
  clock.pass(Span::of_ms(1));
  CHECK(admit(post("", key_of(1).text)) == "bearer lagoon-main");
  CHECK(admit(post("", key_of(1).text)) == "429 wait 0.200000");
  clock.pass(Span::of_h(1));
  for (int i = 0; i < 20; ++i) REQUIRE(admit(post("", key_of(1).text)) == "bearer lagoon-main");
  CHECK(admit(post("", key_of(1).text)) == "429 wait 0.200000");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: ten wrong credentials are free, then each waits twice as long") {
  for (int i = 0; i < 10; ++i) REQUIRE(admit(post()) == "401");
  CHECK(admit(post()) == "429 wait 1.000000");
  CHECK(admit(post()) == "429 wait 1.000000");  // Asking again does not lengthen the wait.
  clock.pass(Span::of_ms(400));
  CHECK(admit(post()) == "429 wait 0.600000");
  for (const double wait : {2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0, 900.0, 900.0}) {
    clock.pass(std::get<Refusal>(last).retry_after.value());
    CHECK(admit(post()) == "429 wait " + std::to_string(wait));
  }
  auto elsewhere = post();
  elsewhere.remote_address = "192.0.2.8";
  CHECK(admit(elsewhere) == "401");
  clock.pass(Span::of_min(31));
  CHECK(admit(post()) == "401");
}

TEST_CASE_FIXTURE(Fixture, "admission: a good key is taken from an address that sends wrong ones") {
  for (int i = 0; i < 15; ++i) (void)admit(post());
  REQUIRE(admit(post()).starts_with("429"));
  CHECK(admit(post("", key_of(1).text)) == "bearer lagoon-main");
}

TEST_CASE("wrong credentials: one /64 is one sender, and the memory of senders is bounded") {
  CHECK(address_group("2001:db8:1:2:3::4") == address_group("2001:db8:1:2:ffff::9"));
  CHECK(address_group("2001:db8:1:2::") != address_group("2001:db8:1:3::"));
  CHECK(address_group("192.0.2.7") == "192.0.2.7");
  WrongCredentials wrong;
  for (std::size_t i = 0; i < 3 * limits::wrong_senders_max; ++i) {
    (void)wrong.failed("sender " + std::to_string(i), Instant{});
  }
  CHECK(wrong.size() == limits::wrong_senders_max);
}

TEST_CASE_FIXTURE(Fixture, "admission: a signature stands for its controller, once") {
  const auto request = signed_request({});
  CHECK(admit(request) == "signature lagoon-main");
  CHECK(admit(request) == "401");
  CHECK(detail().find("nonce was used before") != std::string::npos);
  CHECK(admit(signed_request({.nonce = "n2"})) == "signature lagoon-main");
  // The nonces of two controllers are their own.
  CHECK(admit(signed_request({.nonce = "n2", .key_id = "kelp-main", .key = 2})) ==
        "signature kelp-main");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: a recorded signature stays refused as long as its time is good") {
  const auto request = signed_request({.created_off_s = 300});
  CHECK(admit(request) == "signature lagoon-main");
  for (int i = 0; i < 13; ++i) {
    clock.pass(Span::of_s(50));
    CHECK(admit(request).substr(0, 1) == "4");
  }
}

TEST_CASE_FIXTURE(Fixture, "admission: wrong key, id, body or coverage of a signature is refused") {
  CHECK(admit(signed_request({.key = 2})) == "401");
  CHECK(admit(signed_request({.key_id = "nobody"})) == "401");
  auto changed = signed_request({});
  changed.body = "{\"seq\":2}";
  CHECK(admit(changed) == "400");
  CHECK(detail().find("Content-Digest does not fit") != std::string::npos);
  auto moved = signed_request({});
  moved.path = "/v1/other";
  CHECK(admit(moved) == "401");
  CHECK(admit(signed_request({.components = {"@method", "@path", "content-digest"}})) == "400");
  CHECK(detail().find("\"@authority\"") != std::string::npos);
  CHECK(admit(signed_request({.nonce = ""})) == "400");
  CHECK(admit(signed_request({.nonce = std::string(65, 'n')})) == "400");
  auto no_signature = signed_request({});
  std::erase_if(no_signature.fields, [](const auto& field) { return field.first == "signature"; });
  CHECK(admit(no_signature) == "400");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: a controller whose clock is lost may sign with our nonce, once") {
  CHECK(admit(signed_request({.created_off_s = -400'000})) == "401");
  const std::string offer = field("Accept-Signature");
  const auto start = offer.find("nonce=\"");
  REQUIRE(start != std::string::npos);
  const std::string nonce = offer.substr(start + 7, 24);
  // An old recording gets the same nonce, so that it cannot displace the one in use.
  CHECK(admit(signed_request({.created_off_s = -400'000})) == "401");
  CHECK(field("Accept-Signature") == offer);
  const auto request = signed_request({.nonce = nonce, .created_off_s = -400'000});
  CHECK(admit(request) == "signature lagoon-main");
  CHECK(admit(request) == "401");
}

TEST_CASE_FIXTURE(Fixture,
                  "admission: our nonce is good for a minute and for that controller only") {
  (void)admit(signed_request({.created_off_s = 9'000}));
  const std::string offer = field("Accept-Signature");
  const std::string nonce = offer.substr(offer.find("nonce=\"") + 7, 24);
  CHECK(admit(signed_request(
            {.nonce = nonce, .created_off_s = 9'000, .key_id = "kelp-main", .key = 2})) == "401");
  clock.pass(Span::of_s(60));
  CHECK(admit(signed_request({.nonce = nonce, .created_off_s = 9'000})) == "401");
  // A wrong signature is offered nothing.
  CHECK(admit(signed_request({.created_off_s = 9'000, .key = 2})) == "401");
  CHECK(field("Accept-Signature").empty());
}

TEST_CASE("nonces: a full cache refuses instead of forgetting, and forgets by time") {
  NonceCache cache(Span::of_s(600), 3);
  const Instant start = Instant::of_seconds(0);
  for (const char* nonce : {"a", "b", "c"}) CHECK(cache.remember("lagoon", nonce, start));
  CHECK_FALSE(cache.remember("lagoon", "d", start));
  CHECK(cache.seen("lagoon", "a", start));
  CHECK_FALSE(cache.seen("kelp", "a", start));
  const Instant later = start + Span::of_s(600);
  CHECK_FALSE(cache.seen("lagoon", "a", later));
  CHECK(cache.remember("lagoon", "d", later));
  CHECK(cache.size() == 1);
}

TEST_CASE("key table: malformed hashes are left out, and a moved table still finds") {
  KeyTable table({{.controller = "a", .key_hash = "zz", .made_at = {}},
                  {.controller = "b", .key_hash = std::string(62, '0'), .made_at = {}},
                  {.controller = "c", .key_hash = to_hex(key_of(1).hash), .made_at = {}}});
  const KeyTable moved = std::move(table);
  CHECK(moved.size() == 1);
  REQUIRE(moved.controller_of(key_of(1).hash) != nullptr);
  CHECK(*moved.controller_of(key_of(1).hash) == "c");
  auto near = key_of(1).hash;
  near[31] ^= 1;
  CHECK(moved.controller_of(near) == nullptr);
  CHECK(moved.hash_of("a") == nullptr);
}
