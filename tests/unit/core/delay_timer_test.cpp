#include "core/delay_timer.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace ebbwatch;

namespace {

/// Feeds the test signal, a sample each 60 s from 0 ('g' good, 'b' bad), and prints what changed.
std::string changes(Span on, Span off, const std::string& signal) {
  DelayTimer timer(on, off);
  std::string out;
  for (std::size_t i = 0; i < signal.size(); ++i) {
    const auto change =
        timer.sample(Instant::of_seconds(60.0 * static_cast<double>(i)), signal[i] == 'b');
    if (change == DelayTimer::Change::none) continue;
    if (!out.empty()) out += ", ";
    out += change == DelayTimer::Change::raised ? "raise " : "clear ";
    out += std::to_string(60 * i);
  }
  return out;
}

}  // namespace

// Rule after ISA-18.2 / IEC 62682 delay timers; the events of the test signal were computed with an
// independent implementation of the rule.
TEST_CASE("delay timer: on-delay and off-delay on the test signal") {
  const std::string signal = "gbbgbbbbgbgggg";
  CHECK(changes(Span::of_s(0), Span::of_s(0), signal) ==
        "raise 60, clear 180, raise 240, clear 480, raise 540, clear 600");
  CHECK(changes(Span::of_s(120), Span::of_s(0), signal) == "raise 360, clear 480");
  CHECK(changes(Span::of_s(180), Span::of_s(0), signal) == "raise 420, clear 480");
  CHECK(changes(Span::of_s(180), Span::of_s(120), signal) == "raise 420, clear 720");
  CHECK(changes(Span::of_s(240), Span::of_s(180), signal) == "");
}
