#include "ingest/datagram.h"

#include <doctest/doctest.h>

#include "fakes.h"
#include "ingest/datagram_desk.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

std::string sealed(const std::string& covered, std::uint8_t key = 1) {
  const Sha256 mac = hmac_sha256(key_of(key).text, covered);
  return covered + " " + to_hex(std::span(mac).first(16));
}

const std::string good_mac(32, '0');

struct Desk {
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission{entropy};
  RememberingSink sink;
  DatagramDesk desk{admission, sink, entropy};
  boost::asio::ip::address from = boost::asio::ip::make_address("192.0.2.7");
  Desk() { admission.replace_keys(two_keys()); }

  std::string send(const std::string& bytes) {
    return desk.take(bytes, from, clock.now(), clock.wall_now());
  }
  /// One of lagoon-main, `off_ms` from our clock.
  std::string timed(std::uint64_t seq, std::int64_t off_ms = 0, const std::string& echo = "-",
                    const std::string& pairs = "power=mains") const {
    return sealed("EBB1 lagoon-main " + std::to_string(seq) + " " +
                  std::to_string(clock.wall.us / 1000 + off_ms) + " " + echo + " " + pairs);
  }
  static std::string clockless(std::uint64_t seq, const std::string& echo = "-") {
    return sealed("EBB1 lagoon-main " + std::to_string(seq) + " - " + echo + " uptime_s=5");
  }
  /// The echo of an answer that is of the form and has the right mac.
  std::string echo_of(const std::string& answer) const {
    REQUIRE(answer.starts_with("EBB1 ok "));
    const auto end = answer.rfind(' ');
    CHECK(sealed(answer.substr(0, end)) == answer);
    return answer.substr(8, end - 8);
  }
  std::size_t contacts() const { return sink.taken.size(); }
};

}  // namespace

TEST_CASE("datagram: the parts are found, and what the mac covers") {
  const std::string text = "EBB1 lagoon-main 17 1618884473123 - power=mains,uptime_s=5 " + good_mac;
  const auto datagram = parse_datagram(text);
  REQUIRE(datagram);
  CHECK(datagram->controller == "lagoon-main");
  CHECK(datagram->seq == 17);
  CHECK(datagram->sent_at->us == 1'618'884'473'123'000);
  CHECK(datagram->echo.empty());
  CHECK(datagram->pairs == "power=mains,uptime_s=5");
  CHECK(datagram->covered == text.substr(0, text.size() - 33));
  const std::string bare_text = "EBB1 a 0 - Zz09-_ - " + good_mac;
  const auto bare = parse_datagram(bare_text);
  REQUIRE(bare);
  CHECK_FALSE(bare->sent_at);
  CHECK(bare->echo == "Zz09-_");
  CHECK(bare->pairs.empty());
  CHECK(parse_datagram("EBB1 a 0 - -  " + good_mac)->pairs.empty());
}

TEST_CASE("datagram: anything that is not of the form is refused") {
  const std::string good = "EBB1 lagoon-main 17 1618884473123 - power=mains " + good_mac;
  REQUIRE(parse_datagram(good));
  for (std::size_t i = 0; i < good.size(); ++i) CHECK_FALSE(parse_datagram(good.substr(0, i)));
  for (const std::string& bad : {"EBB2" + good.substr(4),
                                 "ebb1" + good.substr(4),
                                 " " + good,
                                 good + " ",
                                 good + "\n",
                                 good + "0",
                                 "EBB1 Lagoon 1 - - - " + good_mac,
                                 "EBB1 a -1 - - - " + good_mac,
                                 "EBB1 a 01 - - - " + good_mac,
                                 "EBB1 a 9007199254740992 - - - " + good_mac,
                                 "EBB1 a 1 1.5 - - " + good_mac,
                                 "EBB1 a 1 253402300800000 - - " + good_mac,
                                 "EBB1 a 1 -5 - - " + good_mac,
                                 "EBB1 a 1 - e+o - " + good_mac,
                                 "EBB1 a 1 - " + std::string(33, 'e') + " - " + good_mac,
                                 "EBB1 a 1 - - - - " + good_mac,
                                 "EBB1 a 1 - - p\xc3\xa4=1 " + good_mac,
                                 "EBB1 a 1 - - p\t=1 " + good_mac,
                                 "EBB1 a 1 - - - " + std::string(32, 'g'),
                                 std::string(513, 'a'),
                                 std::string()}) {
    CAPTURE(bad);
    CHECK_FALSE(parse_datagram(bad));
  }
  const std::string longest = "EBB1 a 1 - - " + std::string(512 - 46, 'p') + " " + good_mac;
  CHECK(longest.size() == 512);
  CHECK(parse_datagram(longest));
  CHECK_FALSE(parse_datagram("EBB1 a 1 - - " + std::string(513 - 46, 'p') + " " + good_mac));
}

TEST_CASE("datagram: the pairs are those of a form") {
  const std::string text =
      "EBB1 lagoon-main 17 1618884473123 - "
      "power=battery,battery_pct=80,uptime_s=1020,next_in_s=90,leaving=600,buffered=true,"
      "temperature_c=25.4,watts.heater=120,watts.return-pump=35,readings.flow=slow,later=1 " +
      good_mac;
  const auto parsed = check_in_of(*parse_datagram(text));
  REQUIRE(parsed);
  const auto& all = parsed.value();
  CHECK(*all.controller == "lagoon-main");
  CHECK(*all.seq == 17);
  CHECK(all.sent_at->us == 1'618'884'473'123'000);
  CHECK(all.power == Power::battery);
  CHECK(*all.battery_pct == 80);
  CHECK(*all.uptime_s == 1020);
  CHECK(*all.next_in == Span::of_s(90));
  CHECK(*all.leaving == Span::of_min(10));
  CHECK(all.buffered);
  CHECK(to_row(all, "lagoon-main", {}).readings_json ==
        R"({"battery_pct":8E1,"temperature_c":2.54E1,)"
        R"("watts":{"heater":1.2E2,"return-pump":3.5E1},"flow":"slow"})");
  const auto fault = [](const std::string& pairs) {
    const std::string bytes = "EBB1 a 1 - - " + pairs + " " + good_mac;
    const auto found = check_in_of(*parse_datagram(bytes));
    return found ? std::string("none") : found.error().text;
  };
  CHECK(fault("power=coal").starts_with("power: found \"coal\""));
  CHECK(fault("seq=4") == "seq: given twice; allowed is once. Send it only once.");
  CHECK(fault("power=mains,power=mains").starts_with("power: given twice"));
  CHECK(fault("power") ==
        "The datagram has \"power\" where a pair belongs. Send NAME=VALUE, with commas between "
        "the pairs, or - for none.");
  CHECK(fault("=1").find("where a pair belongs") != std::string::npos);
  CHECK(fault("power=mains,,uptime_s=1").find("where a pair belongs") != std::string::npos);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: a timely one is contact and gets an echo") {
  const std::string question = timed(1);
  const auto answer = send(question);
  CHECK(echo_of(answer).size() == 12);
  CHECK(answer.size() <= question.size());
  REQUIRE(contacts() == 1);
  const auto& got = sink.taken[0];
  CHECK(got.credential.kind == Credential::Kind::datagram);
  CHECK(got.credential.controller == "lagoon-main");
  CHECK(got.credential.proven_at == clock.wall);
  CHECK(got.address == "192.0.2.7");
  CHECK(got.parsed.power == Power::mains);
  CHECK(desk.counters().taken == 1);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: a replay is no contact and gets no answer") {
  const auto first = timed(1), second = timed(2);
  CHECK_FALSE(send(first).empty());
  CHECK(send(first).empty());
  CHECK_FALSE(send(second).empty());  // The same millisecond, a higher number.
  CHECK(send(first).empty());
  CHECK(send(second).empty());
  CHECK(send(timed(7, -1)).empty());       // Sent before, whatever its number.
  CHECK_FALSE(send(timed(0, 1)).empty());  // Sent later: the controller started again.
  CHECK(contacts() == 3);
  CHECK(desk.counters().replayed == 4);
  clock.pass(Span::of_min(6));
  CHECK(send(second).empty());
  CHECK(desk.counters().clock_off == 1);
  CHECK(contacts() == 3);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: the clock may be 300 s off, not more") {
  CHECK(send(timed(1, -300'001)).empty());
  CHECK_FALSE(send(timed(1, -300'000)).empty());
  CHECK_FALSE(send(timed(2, 300'000)).empty());
  CHECK(send(timed(3, 300'001)).empty());
  CHECK(contacts() == 2);
  CHECK(sink.log.find("401 lagoon-main 192.0.2.7 Its clock is -300 s from this watcher's") == 0);
  // One line is enough for ten minutes.
  CHECK(std::count(sink.log.begin(), sink.log.end(), '\n') == 1);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: without a clock the echo of the answer proves it new") {
  const auto first = echo_of(send(clockless(1)));
  CHECK(contacts() == 0);
  CHECK(echo_of(send(clockless(1))) == first);  // Replays cannot displace it.
  const auto second = echo_of(send(clockless(2, first)));
  CHECK(contacts() == 1);
  CHECK(second != first);
  CHECK_FALSE(sink.taken[0].credential.proven_at);
  // The same bytes again prove nothing, but an answer that was lost must not lock anybody out.
  CHECK(echo_of(send(clockless(2, first))) == second);
  CHECK(contacts() == 1);
  CHECK(echo_of(send(clockless(3, second))) != second);
  CHECK(contacts() == 2);
  CHECK(desk.counters().echo_given == 3);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: an echo excuses a wrong clock and is good for 24 h") {
  const auto first = echo_of(send(clockless(1)));
  CHECK(send(timed(2, 86'400'000)).empty());
  const auto second = echo_of(send(timed(2, 86'400'000, first)));
  CHECK(contacts() == 1);
  CHECK_FALSE(sink.taken[0].credential.proven_at);  // A wild time must not lock later ones out.
  CHECK_FALSE(send(timed(3)).empty());
  clock.pass(Span::of_h(24));
  const auto third = echo_of(send(clockless(4, second)));
  CHECK(contacts() == 2);
  CHECK(third != second);
  CHECK(echo_of(send(clockless(5, third))) != third);
  CHECK(contacts() == 3);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: the echo is as long as the question allows, at least six") {
  const auto question = [&](const std::string& parts) { return sealed("EBB1 " + parts); };
  const KeyRow row{"t", to_hex(key_of(1).hash), {}, key_of(1).mac.to_hex()};
  admission.replace_keys(KeyTable({row}));
  for (const std::string parts : {"t 1 - - ", "t 1 - - -", "t 1 - - a=1", "t 1 - - later=12345"}) {
    const auto asked = question(parts);
    const auto answer = send(asked);
    CAPTURE(asked);
    CHECK(answer.size() <= asked.size());
    CHECK(answer.empty() == (asked.size() < 47));
  }
  const auto six = echo_of(send(question("t 1 - - -")));
  CHECK(six.size() == 6);
  CHECK_FALSE(send(question("t 2 - " + six + " -")).empty());
  CHECK(contacts() == 1);
  // Part of the next one that is too short to prove anything.
  const auto next = echo_of(send(question("t 3 - - later=12345")));
  CHECK_FALSE(send(question("t 3 - " + next.substr(0, 5) + " later=1")).empty());
  CHECK(contacts() == 1);
}

TEST_CASE_FIXTURE(Desk,
                  "datagram desk: forgeries and garbage get no answer and one line a minute") {
  auto forged = timed(1);
  forged.back() = forged.back() == '0' ? '1' : '0';
  CHECK(send(forged).empty());
  CHECK(send(sealed(forged.substr(0, forged.rfind(' ')), 2)).empty());  // Another one's key.
  CHECK(send(sealed("EBB1 nobody 1 - - -")).empty());
  CHECK(send("garbage").empty());
  CHECK(contacts() == 0);
  CHECK(desk.counters().wrong_mac == 3);
  CHECK(desk.counters().malformed == 1);
  CHECK(std::count(sink.log.begin(), sink.log.end(), '\n') == 1);
  CHECK(sink.log.find("401  192.0.2.7 The mac of a datagram does not fit") == 0);
  clock.pass(Span::of_min(1));
  CHECK(send("garbage").empty());
  CHECK(sink.log.find("Turned away since the last such line: 4.") != std::string::npos);
  CHECK_FALSE(send(timed(1)).empty());
  CHECK(contacts() == 1);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: replays do not use up what a controller may send") {
  const auto old = timed(1);
  CHECK_FALSE(send(old).empty());
  for (int i = 0; i < 1000; ++i) {
    CHECK(send(old).empty());
    CHECK_FALSE(send(clockless(9)).empty());
  }
  CHECK_FALSE(send(timed(2)).empty());
  CHECK(contacts() == 2);
  // New ones of its own do: 20 at once, then one every 200 ms.
  int taken = 0;
  for (int i = 3; i < 60; ++i) taken += send(timed(static_cast<std::uint64_t>(i))).empty() ? 0 : 1;
  CHECK(taken == 18);
  CHECK(desk.counters().too_fast == 57 - 18);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: wrong fields and an unknown controller get no answer") {
  CHECK(send(timed(1, 0, "-", "power=coal")).empty());
  CHECK(sink.log.find("400 lagoon-main 192.0.2.7 power: found \"coal\"") == 0);
  CHECK(desk.counters().wrong_fields == 1);
  sink.answer = CheckInAnswer::unknown_controller;
  CHECK(send(timed(2)).empty());
  CHECK(desk.counters().not_taken == 1);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: what an earlier process took is not taken again") {
  const auto last = timed(5);
  desk.restore("lagoon-main", clock.wall);
  CHECK(send(last).empty());
  CHECK(send(timed(6)).empty());  // Nor another one of that millisecond.
  CHECK_FALSE(send(timed(0, 1)).empty());
  CHECK(contacts() == 1);
}

TEST_CASE_FIXTURE(Desk, "datagram desk: keys that are gone or too old make no mac") {
  CHECK_FALSE(send(timed(1)).empty());
  admission.replace_keys(KeyTable({KeyRow{"lagoon-main", to_hex(key_of(1).hash), {}, ""}}));
  CHECK(admission.keys().without_mac() == 1);
  CHECK(send(timed(2)).empty());
  CHECK(desk.counters().wrong_mac == 1);
}
