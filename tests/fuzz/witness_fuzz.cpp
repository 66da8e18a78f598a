// What watchers say to each other (witness/message.h) and what a watcher makes of it
// (witness/exchange.h). The input is one message.
#include <cmath>

#include "fuzz.h"
#include "text/identifier.h"
#include "witness/exchange.h"
#include "witness/message.h"

using namespace ebbwatch;

namespace {

constexpr double ten_years_s = 10 * 365.0 * 86400;

void look_at_age(const std::optional<Span>& age) {
  MUST(!age || (*age >= Span{} && age->seconds() <= ten_years_s));
}

void look_at(const WitnessMessage& it) {
  MUST(is_identifier(it.from) && is_identifier(it.to));
  MUST(it.ask.size() <= witness_limits::subjects_max);
  MUST(it.outages.size() <= witness_limits::outages_max);
  MUST(it.duties.size() <= witness_limits::duties_max);
  for (const auto* words : {&it.words, &it.relayed}) {
    MUST(words->size() <= witness_limits::subjects_max);
    for (const auto& word : *words) {
      MUST(is_identifier(word.controller));
      look_at_age(word.age);
    }
  }
  for (const SharedOutage& outage : it.outages) {
    MUST(is_identifier(outage.name) && is_identifier(outage.place));
    MUST(outage.delivered.size() <= witness_limits::delivered_max);
    look_at_age(outage.lasts);
    look_at_age(outage.put_away_for);
  }
}

/// A partner may say anything; the answer is a message all the same.
void talk(const WitnessMessage& message) {
  Exchange exchange("harbour", {{"breakwater", true, true, {}}}, {"lagoon-main", "reef-main"}, {});
  const Instant now = Instant::of_seconds(1'000'000'000);
  std::vector<Event> events;
  exchange.heard(ControllerIndex{0}, now - Span::of_s(20));
  const auto answer = exchange.serve(WitnessIndex{0}, message, now, events);
  const auto read = decode(encode(answer));
  MUST(read);
  look_at(read.value());
  exchange.ask({ControllerIndex{0}, ControllerIndex{1}}, now, events);
  if (exchange.take_requests(now).empty()) return;
  exchange.answered(WitnessIndex{0}, message, now + Span::of_s(1), events);
  exchange.tick(now + Span::of_min(1), events);
  MUST(exchange.last_heard(WitnessIndex{0}) <= now + Span::of_s(1));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto read = decode(fuzz::Input(data, size).rest());
  if (!read) {
    MUST(read.error().code == Errc::bad_input && fuzz::is_sentence(read.error().text));
    return 0;
  }
  look_at(read.value());
  const std::string once = encode(read.value());
  const auto again = decode(once);
  MUST(again || once.size() > witness_limits::message_bytes_max);
  if (again) MUST(encode(again.value()) == once);
  talk(read.value());
  return 0;
}
