#include "ingest/broker_desk.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "core/limits.h"
#include "fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

struct Desk {
  explicit Desk(bool require_key = false, const std::string& topic = "ebbwatch/+/check-in")
      : desk(admission, sink, {TopicPattern(topic), require_key, [this](const std::string& who) {
                                 left += who + "\n";
                               }}) {
    admission.replace_keys(two_keys());
  }
  void publish(const std::string& topic, const std::string& payload, bool retained = false) {
    desk.take({topic, payload, retained}, clock.now());
  }
  void check_in(const std::string& payload, bool retained = false) {
    publish("ebbwatch/lagoon-main/check-in", payload, retained);
  }

  FakeClock clock;
  CountingEntropy entropy;
  Admission admission{entropy};
  RememberingSink sink;
  std::string left;
  BrokerDesk desk;
};

std::string with_key(std::uint8_t byte) {
  return R"({"seq": 1, "key": ")" + key_of(byte).text + R"("})";
}

}  // namespace

TEST_CASE("broker: the topic names the controller, in whichever level the plus stands") {
  const TopicPattern usual("ebbwatch/+/check-in");
  CHECK(usual.controller_in("ebbwatch/lagoon-main/check-in") == "lagoon-main");
  for (const char* other :
       {"ebbwatch//check-in", "ebbwatch/check-in", "ebbwatch/a/b/check-in", "ebbwatch/a/check-in/",
        "other/a/check-in", "ebbwatch/a/leaving", "", "ebbwatch/a"}) {
    CAPTURE(other);
    CHECK_FALSE(usual.controller_in(other).has_value());
  }
  CHECK(usual.with_last_level("leaving")->text() == "ebbwatch/+/leaving");
  const TopicPattern at_end("tanks/+");
  CHECK(at_end.controller_in("tanks/lagoon-main") == "lagoon-main");
  CHECK_FALSE(at_end.with_last_level("leaving").has_value());
  const TopicPattern first("+/in/now");
  CHECK(first.controller_in("reef/in/now") == "reef");
  CHECK(first.with_last_level("leaving")->text() == "+/in/leaving");
}

TEST_CASE("broker: a message that is passed on as it comes is a check-in with all its fields") {
  Desk it;
  it.check_in(R"({"seq": 7, "uptime_s": 60, "power": "battery", "temperature_c": 25.1,
                  "leaving": 600, "next_in_s": 90})");
  REQUIRE(it.sink.taken.size() == 1);
  const auto& taken = it.sink.taken[0];
  CHECK(taken.credential.kind == Credential::Kind::broker);
  CHECK(taken.credential.controller == "lagoon-main");
  CHECK(taken.parsed.seq == 7);
  CHECK(taken.parsed.power == Power::battery);
  CHECK(taken.parsed.leaving == Span::of_s(600));
  CHECK(taken.parsed.readings.size() == 1);
  CHECK(taken.address == "the MQTT broker");
  it.check_in(R"({"controller": "lagoon-main", "buffered": true})");
  CHECK(it.sink.taken.at(1).parsed.buffered);
  it.check_in("{}");
  CHECK(it.desk.counters().taken == 3);
}

TEST_CASE("broker: a kept message is no contact, whatever it says") {
  Desk it;
  it.check_in("{}", true);
  it.publish("ebbwatch/lagoon-main/leaving", "", true);
  CHECK(it.sink.taken.empty());
  CHECK(it.left.empty());
  CHECK(it.desk.counters().retained == 2);
  CHECK(it.sink.log.find("400 lagoon-main") != std::string::npos);
  CHECK(it.sink.log.find("retained") != std::string::npos);
}

TEST_CASE("broker: a last will is a hint, told once in ten minutes, and no contact") {
  Desk it;
  it.publish("ebbwatch/lagoon-main/leaving", "gone");
  it.publish("ebbwatch/lagoon-main/leaving", "");
  CHECK(it.left == "lagoon-main\n");
  CHECK(it.desk.counters().leaving == 2);
  it.clock.pass(Span::of_min(11));
  it.publish("ebbwatch/lagoon-main/leaving", R"({"leaving": 600})");
  CHECK(it.left == "lagoon-main\nlagoon-main\n");
  CHECK(it.sink.taken.empty());
  CHECK(it.sink.log.empty());
}

TEST_CASE("broker: what is malformed is counted, and told once in ten minutes for each") {
  Desk it;
  it.check_in("");
  it.check_in("power=mains");
  it.check_in(R"({"power": "coal"})");
  it.check_in(R"({"controller": "kelp-main"})");
  it.check_in("{\"a\": \"" + std::string(limits::check_in_body_bytes_max, 'a') + "\"}");
  it.publish("ebbwatch/Lagoon Main/check-in", "{}");
  it.publish("somewhere/else", "{}");
  CHECK(it.desk.counters().malformed == 4);
  CHECK(it.desk.counters().too_long == 1);
  CHECK(it.desk.counters().other_topic == 2);
  CHECK(it.sink.taken.empty());
  CHECK(std::count(it.sink.log.begin(), it.sink.log.end(), '\n') == 2);
  it.clock.pass(Span::of_min(11));
  it.check_in("[]");
  CHECK(std::count(it.sink.log.begin(), it.sink.log.end(), '\n') == 3);
}

TEST_CASE("broker: a payload of exactly the longest size is read") {
  Desk it;
  const std::string head = "{\"later\": \"", end = "\"}";
  it.check_in(head + std::string(limits::check_in_body_bytes_max - head.size() - end.size(), 'a') +
              end);
  CHECK(it.desk.counters().taken == 1);
}

TEST_CASE("broker: a key in the payload must be that controller's own, and may be required") {
  Desk it;
  it.check_in(with_key(1));
  CHECK(it.desk.counters().taken == 1);
  it.check_in(with_key(2));
  it.check_in(R"({"key": ""})");
  CHECK(it.desk.counters().wrong_key == 2);
  CHECK(it.sink.log.find(key_of(2).text) == std::string::npos);
  Desk strict(true);
  strict.check_in("{}");
  strict.check_in(R"({"key": 5})");
  CHECK(strict.desk.counters().wrong_key == 2);
  CHECK(strict.sink.taken.empty());
  CHECK(strict.sink.log.find("require_key") != std::string::npos);
  strict.check_in(with_key(1));
  CHECK(strict.desk.counters().taken == 1);
}

TEST_CASE("broker: whoever checks in too fast is slowed down, others are not") {
  Desk it;
  for (std::uint32_t i = 0; i < limits::check_in_burst_max; ++i) it.check_in("{}");
  it.check_in("{}");
  CHECK(it.desk.counters().too_fast == 1);
  it.publish("ebbwatch/kelp-main/check-in", "{}");
  CHECK(it.desk.counters().taken == limits::check_in_burst_max + 1);
  it.clock.pass(limits::check_in_spacing_min);
  it.check_in("{}");
  CHECK(it.desk.counters().taken == limits::check_in_burst_max + 2);
}

TEST_CASE("broker: names that somebody makes up neither fill the memory nor the log") {
  Desk it;
  it.sink.answer = CheckInAnswer::unknown_controller;
  for (int i = 0; i < 6000; ++i) it.publish("ebbwatch/c" + std::to_string(i) + "/check-in", "{}");
  CHECK(it.desk.counters().not_taken == 6000);
  CHECK(std::count(it.sink.log.begin(), it.sink.log.end(), '\n') == 4096);
  it.sink.answer = CheckInAnswer::taken;
  it.check_in("{}");
  CHECK(it.desk.counters().taken == 1);
}
