// What watchers say to each other, as bytes: the codec and the seal around it.
#include "witness/message.h"

#include <doctest/doctest.h>

#include <random>

#include "crypto/digest.h"
#include "witness/seal.h"

using namespace ebbwatch;

namespace {

WitnessMessage full_message() {
  WitnessMessage message;
  message.from = "harbour";
  message.to = "breakwater";
  message.link_works = false;
  message.every = Span::of_s(30);
  message.next = "bm9uY2U";
  message.ask = {"lagoon-main", "reef-main"};
  message.words = {{"lagoon-main", Span::of_ms(12'500)}, {"reef-main", std::nullopt}};
  message.relayed = {{"reef-main", Span::of_ms(400)}};
  message.duties = {"Elm Street"};
  message.duties_in_all = 7;
  SharedOutage view;
  view.name = "elm-street-5";
  view.place = "elm-street";
  view.lasts = Span::of_s(301);
  view.told = true;
  view.delivered = {"loss/0 robin text"};
  view.taken_by = "robin";
  view.taken_since = Span::of_s(40);
  view.put_away_for = Span::of_h(2);
  message.outages = {view};
  return message;
}

Seal seal_of(const std::string& nonce, const std::string& key = "0123456789abcdef") {
  return {"harbour", key, nonce, 1'700'000'000};
}

std::optional<std::string> shared_key(const std::string& from) {
  if (from == "harbour") return "0123456789abcdef";
  return std::nullopt;
}

}  // namespace

TEST_CASE("message: what is written is read back") {
  const WitnessMessage sent = full_message();
  const auto read = decode(encode(sent));
  REQUIRE(read.ok());
  CHECK(encode(read.value()) == encode(sent));
  CHECK(read.value().words[1].age == std::nullopt);
  CHECK(read.value().outages[0].put_away_for == Span::of_h(2));
  CHECK_FALSE(read.value().link_works);
}

TEST_CASE("message: one about a controller costs less than a few hundred bytes") {
  WitnessMessage message;
  message.from = message.to = std::string(50, 'w');
  const std::size_t empty = encode(message).size();
  CHECK(empty < 200);
  for (std::size_t i = 0; i < witness_limits::subjects_max; ++i) {
    message.ask.push_back(std::string(60, 'c') + std::to_string(i));
    message.words.push_back({message.ask.back(), Span::of_ms(123'456'789)});
  }
  const std::size_t size = encode(message).size();
  CHECK((size - empty) / witness_limits::subjects_max < 200);
  CHECK(size <= witness_limits::message_bytes_max + 4096);
}

TEST_CASE("message: unknown members are passed over, missing ones have defaults") {
  const auto read = decode(R"({"version": 1, "from": "a", "to": "b", "colour": ["blue"]})");
  REQUIRE(read.ok());
  CHECK(read.value().link_works);
  CHECK(read.value().ask.empty());
}

TEST_CASE("message: what is not in the form is refused with the member's name") {
  const auto fault = [](const std::string& text) { return decode(text).error().text; };
  const std::string head = R"({"version": 1, "from": "a", "to": "b", )";
  CHECK(fault("[1]") == "not a JSON object");
  CHECK(fault("") == "not a JSON object");
  CHECK(fault(R"({"version": 2, "from": "a", "to": "b"})") == "version: 1");
  CHECK(fault(R"({"version": 1, "from": "A!", "to": "b"})") == "from: an identifier");
  CHECK(fault(head + R"("link": 1})") == "link: true or false");
  CHECK(fault(head + R"("ask": ["x", 3]})") == "ask: texts of at most 160 characters");
  CHECK(fault(head + R"("words": [["x", -1]]})") == "words: seconds, from 0 to ten years, or null");
  CHECK(fault(head + R"("words": [["x", 1e300]]})") ==
        "words: seconds, from 0 to ten years, or null");
  CHECK(fault(head + R"("relayed": [["x"]]})") == "relayed: pairs of controller and seconds");
  CHECK(fault(head + R"("outages": [{"name": "x"}]})") == "outages: place: an identifier");
  CHECK(fault(std::string(20'000, ' ')) == "longer than 16 KiB");
  CHECK(fault(head + R"("next": ")" + std::string(200, 'n') + "\"}") ==
        "next: a text of at most 160 characters");
  std::string many = head + R"("ask": [)";
  for (int i = 0; i < 101; ++i) many += (i == 0 ? "\"a\"" : ",\"a\"");
  CHECK(fault(many + "]}") == "ask: a list of at most 100");
}

TEST_CASE("message: bytes changed at random never crash, and what is read can be written") {
  std::mt19937 chance(7);
  const std::string good = encode(full_message());
  for (int i = 0; i < 20'000; ++i) {
    std::string text = good;
    for (unsigned n = 0; n < 1 + chance() % 4; ++n) {
      const std::size_t at = chance() % text.size();
      if (chance() % 3 == 0) {
        text.erase(at, 1 + chance() % 8);
      } else {
        text[at] = static_cast<char>(chance() % 256);
      }
      if (text.empty()) break;
    }
    const auto read = decode(text);
    if (read) CHECK(decode(encode(read.value())).ok());
  }
}

TEST_CASE("seal: a request opens with the shared key, and with no other") {
  const SealedMessage sealed = seal_request("{}", seal_of("n1"));
  const auto opened = open_request(sealed, shared_key);
  REQUIRE(opened.ok());
  CHECK(opened.value().from == "harbour");
  CHECK(opened.value().nonce == "n1");
  const auto other = seal_request("{}", seal_of("n1", "another key, as long"));
  CHECK(open_request(other, shared_key).error().code == Errc::refused);
}

TEST_CASE("seal: a body, a digest or a field that was changed is refused") {
  const SealedMessage good = seal_request("{\"a\":1}", seal_of("n1"));
  SealedMessage changed = good;
  changed.body = "{\"a\":2}";
  CHECK_FALSE(open_request(changed, shared_key).ok());
  changed.digest = content_digest(changed.body);
  CHECK_FALSE(open_request(changed, shared_key).ok());
  changed = good;
  changed.input.replace(changed.input.find("n1"), 2, "n2");
  CHECK_FALSE(open_request(changed, shared_key).ok());
  changed = good;
  changed.signature = "";
  CHECK_FALSE(open_request(changed, shared_key).ok());
  changed = good;
  changed.input = "ebbwatch=(\"content-digest\");created=1;keyid=\"harbour\";nonce=\"n1\"";
  CHECK_FALSE(open_request(changed, shared_key).ok());
}

TEST_CASE("seal: an answer fits its own question, its status and its sender only") {
  const Seal asked = seal_of("n1");
  Seal answering = asked;
  answering.from = "breakwater";
  const SealedMessage answer = seal_answer("{}", 200, answering);
  CHECK(open_answer(answer, 200, "breakwater", asked).ok());
  CHECK_FALSE(open_answer(answer, 401, "breakwater", asked).ok());
  CHECK_FALSE(open_answer(answer, 200, "pier", asked).ok());
  CHECK_FALSE(open_answer(answer, 200, "breakwater", seal_of("n2")).ok());
  // A request is no answer, even if its sender and nonce fit.
  CHECK_FALSE(open_answer(seal_request("{}", answering), 200, "breakwater", asked).ok());
}
