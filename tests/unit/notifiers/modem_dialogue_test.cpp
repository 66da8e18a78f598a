#include "notifiers/gsm_modem/modem_dialogue.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>

#include "notifiers/gsm_modem/modem_errors.h"

using namespace ebbwatch;

namespace {

// A modem that answers from a table, as far as the test lets it.
struct Talk {
  explicit Talk(ModemSetup setup = {}) : dialogue(std::move(setup)) {}

  std::map<std::string, std::string> answers{{"AT", "OK"},
                                             {"ATE0", "OK"},
                                             {"AT+CMEE=1", "OK"},
                                             {"AT+CPIN?", "+CPIN: READY\r\n\r\nOK"},
                                             {"AT+CMGF=0", "OK"},
                                             {"AT+CMGF=1", "OK"},
                                             {"AT+CSCS=\"UCS2\"", "OK"},
                                             {"AT+CNMI=2,1,0,0,0", "OK"},
                                             {"AT+CSQ", "+CSQ: 20,99\r\n\r\nOK"},
                                             {"AT+CREG?", "+CREG: 0,1\r\n\r\nOK"},
                                             {"AT+CEREG?", "ERROR"},
                                             {"AT+CMGL=4", "OK"},
                                             {"AT+CMGL=\"ALL\"", "OK"},
                                             {"AT+CMGD=3", "OK"}};
  ModemDialogue dialogue;
  Instant now{};
  std::vector<std::string> said;
  std::vector<ModemDialogue::Ended> ended;
  std::vector<ModemDialogue::Incoming> incoming;

  void say(const std::string& bytes) {
    dialogue.received(bytes, now);
    converse();
  }
  void line(const std::string& text) { say("\r\n" + text + "\r\n"); }
  void open() {
    dialogue.opened(now);
    converse();
  }
  void send(std::uint64_t id, const std::string& text = "hellohello") {
    dialogue.send({id, "+15550123", text, 0, now + Span::of_s(15)}, now);
    converse();
  }
  /// Answers what the table knows, until the dialogue waits for something else.
  void converse() {
    for (int turn = 0; turn < 100; ++turn) {
      collect();
      std::string out = dialogue.take_output();
      std::erase(out, '\x1B');
      if (out.empty()) return;
      if (out.back() == '\r') out.pop_back();
      said.push_back(out);
      if (const auto found = answers.find(out); found != answers.end()) {
        dialogue.received("\r\n" + found->second + "\r\n", now);
      }
    }
    FAIL("the dialogue goes round in circles");
  }
  void collect() {
    for (auto& one : dialogue.take_ended()) ended.push_back(std::move(one));
    for (auto& one : dialogue.take_incoming()) incoming.push_back(std::move(one));
  }
  void wait(Span time) {
    const Instant end = now + time;
    while (dialogue.deadline() <= end) {
      now = std::max(now, dialogue.deadline());
      dialogue.elapsed(now);
      converse();
      if (dialogue.wants_reopen()) break;
    }
    now = end;
  }
  bool was_said(const std::string& text) const {
    return std::find(said.begin(), said.end(), text) != said.end();
  }
  std::string state() const { return dialogue.state().text; }
};

constexpr const char* hello_pdu = "0011000891515510320000A70AE8329BFD4697D9EC37";

void check_end(Talk& talk, std::size_t index, Outcome::Kind kind, const std::string& answer) {
  REQUIRE(talk.ended.size() > index);
  CHECK(talk.ended[index].outcome.kind == kind);
  CHECK(talk.ended[index].outcome.answer == answer);
}

}  // namespace

TEST_CASE("modem: from a cold start to a text that the network took") {
  Talk talk;
  CHECK(talk.dialogue.deadline().is_never());
  talk.open();
  CHECK(talk.said == std::vector<std::string>{"AT", "ATE0", "AT+CMEE=1", "AT+CPIN?", "AT+CMGF=0",
                                              "AT+CNMI=2,1,0,0,0", "AT+CSQ", "AT+CREG?",
                                              "AT+CMGL=4"});
  CHECK(talk.dialogue.state().word == WayState::Word::working);
  CHECK(talk.state() == "registered with the home network; signal 20 of 31 (-73 dBm)");
  talk.send(7);
  CHECK(talk.said.back() == "AT+CMGS=21");
  talk.say("\r\n> ");
  CHECK(talk.said.back() == std::string(hello_pdu) + "\x1A");
  talk.line("+CMGS: 17");
  CHECK(talk.ended.empty());
  talk.line("OK");
  check_end(talk, 0, Outcome::Kind::delivered, "taken by the network as number 17");
  CHECK(talk.ended[0].job == 7);
}

TEST_CASE("modem: bytes may come in any pieces, with echo and news between them") {
  Talk talk;
  talk.open();
  talk.send(1);
  for (const char c : std::string("AT+CMGS=21\r\r\n^RSSI:12\r\n\r\n> "))
    talk.say(std::string(1, c));
  CHECK(talk.said.back() == std::string(hello_pdu) + "\x1A");
  for (const char c : std::string(hello_pdu) + "\x1A\r\nRING\r\n\r\n+CMGS: 4\r\n\r\nOK\r\n") {
    talk.say(std::string(1, c));
  }
  check_end(talk, 0, Outcome::Kind::delivered, "taken by the network as number 4");
}

TEST_CASE("modem: an OK that was not asked for proves nothing") {
  Talk talk;
  talk.open();
  talk.line("OK");
  talk.send(1);
  talk.line("OK");  // A doubled one, before the prompt
  talk.say("> ");
  talk.line("OK");  // and before the network's answer.
  CHECK(talk.ended.empty());
  talk.line("+CMGS: 1");
  talk.line("OK");
  talk.line("OK");
  CHECK(talk.ended.size() == 1);
  talk.send(2);
  CHECK(talk.said.back() == "AT+CMGS=21");
}

TEST_CASE("modem: one text at a time, in order") {
  Talk talk;
  talk.open();
  talk.send(1);
  talk.send(2);
  CHECK(std::count(talk.said.begin(), talk.said.end(), "AT+CMGS=21") == 1);
  talk.say("> ");
  talk.line("+CMGS: 1\r\n\r\nOK");
  CHECK(std::count(talk.said.begin(), talk.said.end(), "AT+CMGS=21") == 2);
  talk.say("> ");
  talk.line("+CMS ERROR: 28");
  check_end(talk, 1, Outcome::Kind::rejected_forever, "modem error 28: unknown subscriber");
}

TEST_CASE("modem: a long text goes in pieces, and is delivered with the last") {
  Talk talk;
  talk.open();
  talk.send(1, std::string(161, 'a'));
  CHECK(talk.said.back() == "AT+CMGS=152");
  talk.say("> ");
  talk.line("+CMGS: 8\r\n\r\nOK");
  CHECK(talk.ended.empty());
  CHECK(talk.said.back() == "AT+CMGS=26");
  talk.say("> ");
  talk.line("+CMGS: 9\r\n\r\nOK");
  check_end(talk, 0, Outcome::Kind::delivered, "taken by the network as number 9");
}

TEST_CASE("modem: a refused piece ends the text") {
  Talk talk;
  talk.open();
  talk.send(1, std::string(161, 'a'));
  talk.say("> ");
  talk.line("+CMS ERROR: 331");
  check_end(talk, 0, Outcome::Kind::retry_later, "modem error 331: no network");
  talk.send(2);
  CHECK(talk.said.back() == "AT+CMGS=21");
  CHECK(talk.state().find("last error: modem error 331") != std::string::npos);
}

TEST_CASE("modem: no prompt is tried again, no answer after the text is a lost answer") {
  Talk talk;
  talk.open();
  talk.send(1);
  talk.wait(Span::of_s(9));
  check_end(talk, 0, Outcome::Kind::retry_later, "the modem does not answer to AT+CMGS");
  talk.send(2);
  CHECK(talk.said.back() == "AT+CMGS=21");  // It was woken again before.
  talk.say("> ");
  talk.wait(Span::of_s(41));
  check_end(talk, 1, Outcome::Kind::unknown, "the modem did not say whether the text was sent");
}

TEST_CASE("modem: one that says nothing at all is closed and opened again") {
  Talk talk;
  talk.answers.clear();
  talk.open();
  talk.send(1);
  talk.wait(Span::of_s(10));
  CHECK(talk.dialogue.wants_reopen());
  check_end(talk, 0, Outcome::Kind::retry_later, "the modem does not answer to AT");
  CHECK(talk.dialogue.state().word == WayState::Word::failing);
}

TEST_CASE("modem: a PIN is tried once and never again") {
  ModemSetup setup;
  setup.pin = "1234";
  Talk talk(setup);
  talk.answers["AT+CPIN?"] = "+CPIN: SIM PIN\r\n\r\nOK";
  talk.answers["AT+CPIN=\"1234\""] = "+CME ERROR: 16";
  talk.open();
  CHECK(talk.state().find("refused the PIN (modem error 16: the PIN is wrong)") !=
        std::string::npos);
  talk.wait(Span::of_min(10));
  talk.dialogue.closed("gone", talk.now);
  talk.open();
  CHECK(std::count(talk.said.begin(), talk.said.end(), "AT+CPIN=\"1234\"") == 1);
  talk.send(1);
  CHECK(talk.ended.size() == 1);  // At once, so that another way is tried.
}

TEST_CASE("modem: a good PIN opens the SIM card") {
  ModemSetup setup;
  setup.pin = "1234";
  Talk talk(setup);
  talk.answers["AT+CPIN?"] = "+CPIN: SIM PIN\r\n\r\nOK";
  talk.open();
  REQUIRE(talk.said.back() == "AT+CPIN=\"1234\"");
  talk.answers["AT+CPIN?"] = "+CPIN: READY\r\n\r\nOK";
  talk.line("OK");
  CHECK(talk.dialogue.state().word == WayState::Word::working);
}

TEST_CASE("modem: troubles of SIM card and network have words, and end by themselves") {
  struct Trouble {
    const char *command, *answer, *words;
  };
  for (const Trouble& trouble :
       {Trouble{"AT+CPIN?", "+CPIN: SIM PIN\r\n\r\nOK", "the SIM card wants its PIN; give pin:"},
        Trouble{"AT+CPIN?", "+CPIN: SIM PUK\r\n\r\nOK", "the SIM card wants: SIM PUK"},
        Trouble{"AT+CPIN?", "+CME ERROR: 10", "SIM card: modem error 10: no SIM card"},
        Trouble{"AT+CPIN?", "+CME ERROR: SIM busy",
                "SIM card: the modem said +CME ERROR: SIM busy"},
        Trouble{"AT+CREG?", "+CREG: 0,2\r\n\r\nOK", "not registered: searching for a network"},
        Trouble{"AT+CREG?", "+CREG: 0,3\r\n\r\nOK", "not registered: the network refuses"},
        Trouble{"AT+CREG?", "+CREG: 0,0\r\n\r\nOK", "not registered with any network"}}) {
    CAPTURE(trouble.words);
    Talk talk;
    const std::string good = talk.answers[trouble.command];
    talk.answers[trouble.command] = trouble.answer;
    talk.open();
    CHECK(talk.dialogue.state().word == WayState::Word::failing);
    CHECK(talk.state().find(trouble.words) == 0);
    talk.answers[trouble.command] = good;
    talk.wait(Span::of_s(11));
    CHECK(talk.dialogue.state().word == WayState::Word::working);
  }
}

TEST_CASE("modem: registered for packets only is good enough for texts") {
  Talk talk;
  talk.answers["AT+CREG?"] = "+CREG: 0,3\r\n\r\nOK";
  talk.answers["AT+CEREG?"] = "+CEREG: 0,5\r\n\r\nOK";
  talk.open();
  CHECK(talk.state().find("registered with a foreign network") == 0);
}

TEST_CASE("modem: text mode where there is no PDU mode, in every letter") {
  Talk talk;
  talk.answers["AT+CMGF=0"] = "ERROR";
  talk.answers["AT+CSMP=17,167,0,0"] = "OK";
  talk.answers["AT+CSMP=17,167,0,8"] = "OK";
  talk.open();
  talk.send(1, "ä 1");
  CHECK(talk.said.back() == "AT+CMGS=\"002B00310035003500350030003100320033\"");
  talk.say("> ");
  CHECK(talk.said.back() == "00E400200031\x1A");
  talk.line("+CMGS: 1\r\n\r\nOK");
  talk.send(2, "Ж");
  CHECK(talk.was_said("AT+CSMP=17,167,0,8"));
  talk.say("> ");
  CHECK(talk.said.back() == "0416\x1A");
}

TEST_CASE("modem: text mode with plain letters only") {
  ModemSetup setup;
  setup.mode = ModemSetup::Mode::text;
  Talk talk(setup);
  talk.answers["AT+CSCS=\"UCS2\""] = "ERROR";
  talk.answers["AT+CSCS=\"IRA\""] = "OK";
  talk.answers["AT+CSMP=17,167,0,0"] = "OK";
  talk.open();
  talk.send(1, "26 °C ok");
  CHECK(talk.said.back() == "AT+CMGS=\"+15550123\"");
  talk.say("> ");
  CHECK(talk.said.back() == "26 C ok\x1A");
}

TEST_CASE("modem: mode pdu and a modem without it") {
  ModemSetup setup;
  setup.mode = ModemSetup::Mode::pdu;
  Talk talk(setup);
  talk.answers["AT+CMGF=0"] = "ERROR";
  talk.open();
  CHECK(talk.state() == "the modem has no PDU mode; try mode: text");
}

TEST_CASE("modem: what came in is handed out once, and deleted only after it was taken") {
  Talk talk;
  talk.answers["AT+CMGL=4"] =
      "+CMGL: 3,1,,23\r\n"
      "07917283010010F5040BC87238880900F10000993092516195800AE8329BFD4697D9EC37\r\n"
      "+CMGL: 5,2,,21\r\n0011000891515510320000A70AE8329BFD4697D9EC37\r\n\r\nOK";
  talk.open();
  REQUIRE(talk.incoming.size() == 1);
  CHECK(talk.incoming[0].from == "27838890001");
  CHECK(talk.incoming[0].text == "hellohello");
  talk.line("+CMTI: \"SM\",3");
  CHECK(talk.incoming.size() == 1);
  CHECK_FALSE(talk.was_said("AT+CMGD=3"));
  talk.dialogue.taken(talk.incoming[0].index, talk.now);
  talk.converse();
  CHECK(talk.said.back() == "AT+CMGD=3");
}

TEST_CASE("modem: an announcement during a text is not lost") {
  Talk talk;
  talk.open();
  talk.send(1);
  talk.line("+CMTI: \"SM\",3");
  talk.say("> ");
  talk.line("+CMGS: 1\r\n\r\nOK");
  CHECK(talk.said.back() == "AT+CMGL=4");
}

TEST_CASE("modem: a device that vanishes") {
  Talk talk;
  talk.open();
  talk.send(1);
  talk.send(2);
  talk.say("> ");
  talk.dialogue.closed("/dev/ttyUSB0 is gone", talk.now);
  talk.collect();
  check_end(talk, 0, Outcome::Kind::unknown, "/dev/ttyUSB0 is gone");  // It may have been sent.
  check_end(talk, 1, Outcome::Kind::retry_later, "/dev/ttyUSB0 is gone");
  CHECK(talk.state() == "/dev/ttyUSB0 is gone");
  talk.open();
  CHECK(talk.dialogue.state().word == WayState::Word::working);
}

TEST_CASE("modem: who waits too long for a turn is told so") {
  Talk talk;
  talk.dialogue.send({1, "+15550123", "x", 0, talk.now + Span::of_s(15)}, talk.now);
  talk.wait(Span::of_s(16));
  check_end(talk, 0, Outcome::Kind::retry_later, "the modem was not ready in time");
}

TEST_CASE("modem: a text that nobody waits for is taken back before its last byte") {
  Talk talk;
  talk.open();
  talk.send(1);
  talk.dialogue.forget(1, talk.now);
  CHECK(talk.dialogue.take_output().front() == '\x1B');
  CHECK(talk.ended.empty());
}

TEST_CASE("modem: noise without end is borne") {
  Talk talk;
  talk.open();
  talk.say(std::string(100'000, 'x'));
  talk.line("RING");
  talk.send(1);
  talk.say("> ");
  talk.line("+CMGS: 1\r\n\r\nOK");
  CHECK(talk.ended.size() == 1);
}

// 3GPP TS 27.005 §3.2.5; which of them may pass is our choice.
TEST_CASE("modem: classes of errors") {
  for (const int number : {17, 22, 38, 41, 42, 47, 301, 310, 311, 314, 331, 500, 999, -1}) {
    CAPTURE(number);
    CHECK(cms_error_kind(number) == Outcome::Kind::retry_later);
  }
  for (const int number : {1, 8, 10, 21, 28, 302, 303, 304, 305}) {
    CAPTURE(number);
    CHECK(cms_error_kind(number) == Outcome::Kind::rejected_forever);
  }
  CHECK(cms_error_kind(332) == Outcome::Kind::unknown);
  CHECK(cms_error_text(999) == "modem error 999");
}
