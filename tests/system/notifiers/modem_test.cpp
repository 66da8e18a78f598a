// The GSM modem notifier with tests/counterparts/modem.py on a pseudo-terminal.
#include <doctest/doctest.h>

#include <chrono>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using namespace std::chrono_literals;

namespace {

std::string state_of(const Notifier& notifier) {
  return notifier.state().text;
}

bool works(const Notifier& notifier) {
  return notifier.state().word == WayState::Word::working;
}

std::size_t texts_in(const Bench& bench) {
  std::size_t count = 0;
  for (const auto& entry : bench.log("modem.log"))
    count += entry.as_object().contains("to") ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("modem: a text arrives as it was written, in one piece or several") {
  Bench bench;
  const auto counterpart = modem(bench, "accept");
  const auto notifier = bench.make(modem_at(bench));
  Message message = loss_message();
  const Outcome first = bench.deliver(*notifier, message);
  CHECK(kind_of(first) == "delivered");
  CHECK(first.answer == "taken by the network as number 1");
  CHECK(state_of(*notifier) == "registered with the home network; signal 20 of 31 (-73 dBm)");
  message.short_text = "Бак 1: нет связи, " + std::string(80, 'x');
  CHECK(kind_of(bench.deliver(*notifier, message)) == "delivered");
  const auto log = bench.log("modem.log");
  REQUIRE(log.size() == 3);
  CHECK(text_at(log[0], "/to") == "+15550100");
  CHECK(text_at(log[0], "/text") == loss_message().short_text);
  CHECK(text_at(log[1], "/text") + text_at(log[2], "/text") == message.short_text);
  CHECK(text_at(log[1], "/joined") == text_at(log[2], "/joined"));
}

TEST_CASE("modem: echo that cannot be switched off, and news at every turn") {
  Bench bench;
  const auto counterpart = modem(bench, "accept", {"echo_stays", "noise"});
  const auto notifier = bench.make(modem_at(bench));
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
  CHECK(texts_in(bench) == 1);
}

TEST_CASE("modem: final answers that come twice confuse nothing") {
  Bench bench;
  const auto counterpart = modem(bench, "twice");
  const auto notifier = bench.make(modem_at(bench));
  for (int turn = 0; turn < 5; ++turn) {
    CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
  }
  CHECK(texts_in(bench) == 5);
}

TEST_CASE("modem: text mode, with and without wide letters") {
  for (const bool wide : {true, false}) {
    CAPTURE(wide);
    Bench bench;
    std::vector<std::string> options{"no_pdu"};
    if (!wide) options.emplace_back("no_ucs2");
    const auto counterpart = modem(bench, "accept", options);
    const auto notifier = bench.make(modem_at(bench));
    Message message = loss_message();
    message.short_text = "Lagoon Süd: 26 C";
    CHECK(kind_of(bench.deliver(*notifier, message)) == "delivered");
    const auto log = bench.log("modem.log");
    REQUIRE(log.size() == 1);
    CHECK(text_at(log[0], "/to") == "+15550100");
    CHECK(text_at(log[0], "/text") == (wide ? "Lagoon Süd: 26 C" : "Lagoon S?d: 26 C"));
  }
}

TEST_CASE("modem: the PIN is given where it is wanted, and a wrong one only once") {
  for (const char* pin : {"1234", "9999"}) {
    CAPTURE(pin);
    Bench bench;
    const auto counterpart = modem(bench, "accept", {"pin:1234"});
    auto settings = modem_at(bench);
    settings.modem.pin = bench.secret("pin", pin);
    const auto notifier = bench.make(settings);
    const bool right = std::string(pin) == "1234";
    const Outcome outcome = bench.deliver(*notifier, loss_message());
    CHECK(kind_of(outcome) == (right ? "delivered" : "retry_later"));
    CHECK(outcome.answer.find(pin) == std::string::npos);
    CHECK(kind_of(bench.deliver(*notifier, loss_message())) ==
          (right ? "delivered" : "retry_later"));
    std::size_t tried = 0;
    for (const auto& entry : bench.log("modem.log")) {
      tried += entry.as_object().contains("pin") ? 1 : 0;
    }
    CHECK(tried == 1);
  }
}

TEST_CASE("modem: what keeps it from sending is told at once and shown") {
  struct Trouble {
    const char *option, *words;
  };
  for (const Trouble& trouble :
       {Trouble{"no_sim", "no SIM card"}, Trouble{"puk", "SIM PUK"},
        Trouble{"pin:1234", "wants its PIN"}, Trouble{"searching", "searching for a network"},
        Trouble{"refused_by_network", "refuses this SIM card"}}) {
    CAPTURE(trouble.option);
    Bench bench;
    const auto counterpart = modem(bench, "accept", {trouble.option});
    const auto notifier = bench.make(modem_at(bench));
    const Outcome outcome = bench.deliver(*notifier, loss_message());
    CHECK(kind_of(outcome) == "retry_later");
    CHECK(outcome.answer.find(trouble.words) != std::string::npos);
    CHECK(state_of(*notifier) == outcome.answer);
  }
}

TEST_CASE("modem: a device that vanishes with a text and comes back") {
  Bench bench;
  const auto counterpart = modem(bench, "hang_up");
  const auto notifier = bench.make(modem_at(bench));
  const Outcome lost = bench.deliver(*notifier, loss_message());
  CHECK(kind_of(lost) == "unknown");
  CHECK(lost.answer.find("is gone") != std::string::npos);
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "retry_later");
  CHECK(bench.turn_until([&] { return works(*notifier); }));
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
}

TEST_CASE("modem: one that is not there yet is no error at the start") {
  Bench bench;
  const auto notifier = bench.make(modem_at(bench));
  const Outcome outcome = bench.deliver(*notifier, loss_message());
  CHECK(kind_of(outcome) == "retry_later");
  CHECK(outcome.answer.find("No such file or directory") != std::string::npos);
  const auto counterpart = modem(bench, "accept");
  CHECK(bench.turn_until([&] { return works(*notifier); }));
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
}

TEST_CASE("modem: two do not share a device") {
  Bench bench;
  const auto counterpart = modem(bench, "accept");
  const auto first = bench.make(modem_at(bench));
  const auto second = bench.make(modem_at(bench));
  CHECK(kind_of(bench.deliver(*second, loss_message())) == "retry_later");
  CHECK(kind_of(bench.deliver(*first, loss_message())) == "delivered");
}

TEST_CASE("modem: texts that come in are handed on, answered and deleted") {
  Bench bench;
  const std::string hello =
      "07917283010010F5040BC87238880900F10000993092516195800AE8329BFD4697D9EC37\n";
  // "OK" from +15550123.
  const std::string answer = "000408915155103200006211715132450002CF25\n";
  write_file(bench.path("inbox"), hello);
  bench.incoming().reply = "You have it.";
  const auto counterpart = modem(bench, "accept", {}, true);
  const auto notifier = bench.make(modem_at(bench));
  CHECK(bench.turn_until([&] { return bench.incoming().texts.size() == 1; }));
  write_file(bench.path("inbox"), hello + answer);
  CHECK(bench.turn_until([&] { return bench.log("modem.log").size() == 3; }));
  REQUIRE(bench.incoming().texts.size() == 2);
  CHECK(bench.incoming().texts[0].from == "27838890001");
  CHECK(bench.incoming().texts[0].text == "hellohello");
  CHECK(bench.incoming().texts[1].notifier == "modem");
  CHECK(bench.incoming().texts[1].from == "+15550123");
  CHECK(bench.incoming().texts[1].text == "OK");
  std::string replied;
  std::size_t deleted = 0;
  for (const auto& entry : bench.log("modem.log")) {
    deleted += entry.as_object().contains("deleted") ? 1 : 0;
    if (entry.as_object().contains("to")) replied = text_at(entry, "/to");
  }
  CHECK(deleted == 2);
  CHECK(replied == "+15550123");
}

TEST_CASE("modem: errors of the network decide by their number") {
  struct Meaning {
    const char *behaviour, *kind;
  };
  for (const Meaning& meaning : {Meaning{"cms:28", "rejected_forever"},
                                 Meaning{"cms:42", "retry_later"}, Meaning{"cms:332", "unknown"}}) {
    CAPTURE(meaning.behaviour);
    Bench bench;
    const auto counterpart = modem(bench, meaning.behaviour);
    const auto notifier = bench.make(modem_at(bench));
    CHECK(kind_of(bench.deliver(*notifier, loss_message())) == meaning.kind);
  }
}

TEST_CASE("modem: silence after the text is a lost answer") {
  Bench bench;
  const auto counterpart = modem(bench, "hang_after_text");
  auto settings = modem_at(bench);
  settings.modem.time_limit = Span::of_s(3);
  const auto notifier = bench.make(settings);
  CHECK(bench.turn_until([&] { return works(*notifier); }));
  const auto attempts = bench.deliver_all(*notifier, {loss_message()});
  CHECK(kind_of(attempts.outcomes.front()) == "unknown");
  CHECK(attempts.took < Span::of_s(6));
}

TEST_CASE("modem: a PIN file with something else in it is an error at the start") {
  Bench bench;
  auto settings = modem_at(bench);
  settings.modem.pin = bench.secret("pin", "open sesame");
  CHECK(bench.fault(settings) == "notifier modem: pin: not 4 to 8 digits");
}
