// Messages that a broker passes on (ingest/broker_desk.h). First line: the topic, with `!` before
// it for a retained message and `?` for a watcher that requires keys; the rest is the payload.
#include "ingest/broker_desk.h"

#include "core/limits.h"
#include "fuzz.h"
#include "unit/ingest/fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

bool take_mark(std::string_view& text, char mark) {
  if (!text.starts_with(mark)) return false;
  text.remove_prefix(1);
  return true;
}

std::uint64_t sum(const BrokerCounters& c) {
  return c.taken + c.leaving + c.retained + c.other_topic + c.malformed + c.too_long + c.wrong_key +
         c.too_fast + c.not_taken;
}

/// The topic with the controller in place of the plus is that of the message.
void look_at_pattern(const std::string& pattern, std::string_view topic) {
  const TopicPattern it(pattern);
  MUST(it.text() == pattern);
  const auto named = it.controller_in(topic);
  if (!named) return;
  MUST(fuzz::replaced(pattern, "+", *named) == topic);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  std::string_view topic = in.line();
  const bool retained = take_mark(topic, '!');
  const bool require_key = take_mark(topic, '?');
  for (const char* pattern : {"ebbwatch/+/check-in", "tanks/+"}) look_at_pattern(pattern, topic);

  FakeClock clock;
  CountingEntropy entropy;
  Admission admission(entropy);
  admission.replace_keys(two_keys());
  RememberingSink sink;
  std::string left;
  BrokerDesk desk(
      admission, sink,
      {TopicPattern("ebbwatch/+/check-in"), require_key, [&](const auto& who) { left = who; }});
  const std::string payload = fuzz::replaced(std::string(in.rest()), "$KEY1", key_of(1).text);
  desk.take({std::string(topic), payload, retained}, clock.now());
  MUST(sum(desk.counters()) == 1 && desk.counters().taken == sink.taken.size());
  MUST(sink.log.find(key_of(1).text) == std::string::npos && is_utf8(sink.log));
  if (!left.empty()) MUST(!retained && topic == "ebbwatch/" + left + "/leaving");
  if (sink.taken.empty()) return 0;
  const auto& taken = sink.taken[0];
  MUST(!retained && payload.size() <= limits::check_in_body_bytes_max);
  MUST(topic == "ebbwatch/" + taken.credential.controller + "/check-in");
  MUST(!taken.parsed.controller || *taken.parsed.controller == taken.credential.controller);
  MUST(!taken.parsed.key || taken.parsed.key == key_of(1).text);
  MUST(!require_key || taken.parsed.key);
  return 0;
}
