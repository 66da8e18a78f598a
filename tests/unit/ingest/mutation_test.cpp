// Every reader of outside text gets thousands of damaged texts: it must answer each with a value or
// a sentence, and the sanitizers must stay silent. Fixed seed; the text is printed on failure.
#include <doctest/doctest.h>

#include <functional>
#include <random>
#include <string>
#include <vector>

#include "crypto/http_signature.h"
#include "ingest/check_in.h"
#include "text/utf8.h"

using namespace ebbwatch;
using namespace std::string_literals;

namespace {

constexpr int rounds = 20'000;

std::string damaged(std::string text, std::mt19937& dice) {
  const std::string spice = "\0\"\\{}[]:,;=%&+-.eE019\x80\xff\xc3\n ()"s;
  for (auto changes = 1 + dice() % 4; changes > 0; --changes) {
    const std::size_t at = text.empty() ? 0 : dice() % text.size();
    switch (dice() % 5) {
      case 0:
        text.insert(at, 1, spice[dice() % spice.size()]);
        break;
      case 1:
        text.erase(at, 1 + dice() % 8);
        break;
      case 2:
        text.insert(at, text.substr(at, dice() % 40));
        break;
      case 3:
        text.resize(at);
        break;
      default:
        if (!text.empty()) text[at] = static_cast<char>(dice());
    }
  }
  return text;
}

/// @param read gives the error's text, or nothing when it took the text.
void survives(const std::vector<std::string>& seeds,
              const std::function<std::string(const std::string&)>& read) {
  std::mt19937 dice(20260225);
  int taken = 0;
  for (int i = 0; i < rounds; ++i) {
    const std::string text = damaged(seeds[dice() % seeds.size()], dice);
    CAPTURE(text);
    const std::string refused = read(text);
    if (refused.empty()) ++taken;
    REQUIRE(is_utf8(refused));
    REQUIRE(refused.find('\n') == std::string::npos);
    REQUIRE(refused.size() < 600);
  }
  // Both ways are walked, or the texts are too wild or too tame.
  CHECK(taken > rounds / 200);
  CHECK(taken < rounds - rounds / 20);
}

std::string text_of(const Result<ParsedCheckIn>& parsed) {
  if (!parsed) return parsed.error().text;
  // What was taken must also be fit to be stored.
  REQUIRE(is_utf8(to_row(parsed.value(), "c", {}).readings_json));
  return "";
}

}  // namespace

TEST_CASE("mutation: damaged JSON check-ins are taken or refused in one line") {
  survives({R"({"controller":"lagoon-main","seq":7,"uptime_s":12.5,"sent_at":1771788142000})",
            R"({"power":"battery","battery_pct":81,"next_in_s":60,"leaving":5,"buffered":true})",
            R"({"readings":{"temperature_c":-1.5,"watts":{"return-pump":35},"x":"é\u00e9"}})"},
           [](const std::string& text) { return text_of(parse_check_in_json(text)); });
}

TEST_CASE("mutation: damaged forms are taken or refused in one line") {
  survives(
      {"controller=lagoon-main&seq=7&uptime_s=12.5&sent_at=2026-02-22T20%3A22%3A22%2B01:00",
       "power=battery&battery_pct=8&buffered=1&temperature_c=-1.5&watts.pump=3&readings.x=%c3%a9",
       "readings=%7B%22ph%22%3A8.1%7D&leaving=60&next_in_s=5"},
      [](const std::string& text) { return text_of(parse_check_in_form(text)); });
}

TEST_CASE("mutation: damaged signature fields are taken or refused in one line") {
  survives({R"(s=("@method" "@path");created=1618884473;keyid="a\"b";nonce="n";alg="hmac-sha256")",
            R"(s=("date"), t=("x");expires=5;tag="q")"},
           [](const std::string& text) {
             const auto one = read_signature(text, "s=:AAAA:, t=:AQID:");
             (void)read_signature("s=(\"date\")", text);  // Its turn; never a good Signature.
             return one ? std::string() : one.error().text;
           });
}
