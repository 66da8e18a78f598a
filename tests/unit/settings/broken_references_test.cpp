// One broken configuration a test; each asserts the whole report: place, key, what is allowed, a
// hint.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

TEST_CASE("settings: a duplicate controller is reported") {
  const std::string yaml = changed(sample, "id: lagoon-logger", "id: lagoon-main");
  CHECK(problems_of(yaml) ==
        "f.yaml:17:18: sites[0].tanks[0].controllers[1].id: \"lagoon-main\" is already a "
        "controller, see f.yaml:16; allowed: each controller once in all files.\n");
}

TEST_CASE("settings: a dangling call list is reported") {
  const std::string yaml = changed(sample, "call_list: everyday", "call_list: everday");
  CHECK(problems_of(yaml) ==
        "f.yaml:11:16: sites[0].call_list: there is no call list \"everday\"; allowed: "
        "one of everyday. Did you mean everyday?\n");
}

TEST_CASE("settings: a dangling keyholder and notifier is reported") {
  const std::string yaml =
      changed(sample, "tell: [robin], by: [text, mail]", "tell: [robbin], by: [text, male]");
  CHECK(problems_of(yaml) ==
        "f.yaml:27:30: call_lists[0].steps[0].tell[0]: there is no keyholder \"robbin\"; "
        "allowed: one of robin. Did you mean robin?\n"
        "f.yaml:27:50: call_lists[0].steps[0].by[1]: there is no notifier \"male\"; "
        "allowed: one of mail, text.\n");
}

TEST_CASE("settings: a phone number with spaces is reported") {
  const std::string yaml = changed(sample, "+15550100", "+1 555-0100");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:50: keyholders[0].phone: \"+1 555-0100\"; allowed: + and 3 to 15 "
        "digits with the country code (E.164). Write \"+15550100\".\n");
}

TEST_CASE("settings: a phone number with 00 is reported") {
  const std::string yaml = changed(sample, "\"+15550100\"", "\"0015550100\"");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:50: keyholders[0].phone: \"0015550100\"; allowed: + and 3 to 15 "
        "digits with the country code (E.164). Write \"+15550100\".\n");
}

TEST_CASE("settings: a phone number without country code is reported") {
  const std::string yaml = changed(sample, "\"+15550100\"", "5550100");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:50: keyholders[0].phone: \"5550100\"; allowed: + and 3 to 15 digits "
        "with the country code (E.164). Begin with + and the country code.\n");
}

TEST_CASE("settings: a broken mail address is reported") {
  const std::string yaml =
      changed(sample, "email: robin@example.net", "email: Robin <robin@example.net>");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:24: keyholders[0].email: \"Robin <robin@example.net>\"; allowed: one "
        "mail address, such as tanks@example.net. Write only what stands between < and "
        ">.\n");
}

TEST_CASE("settings: a notifier that cannot reach a keyholder is reported") {
  const std::string yaml = changed(sample, ", phone: \"+15550100\"", "");
  CHECK(problems_of(yaml) ==
        "f.yaml:27:43: call_lists[0].steps[0].by[0]: \"text\" cannot reach \"robin\"; "
        "allowed: keyholders with a phone. Give robin phone: …, or make a step of its "
        "own for robin.\n");
}

TEST_CASE("settings: steps out of order is reported") {
  const std::string yaml = changed(sample, "      - {after: 0min, tell: [robin], by: [text, mail]}",
                                   "      - {after: 10min, tell: [robin], by: [text, mail]}\n      "
                                   "- {after: 5min, tell: [robin], by: [mail]}");
  CHECK(problems_of(yaml) ==
        "f.yaml:28:17: call_lists[0].steps[1].after: 5min, before the step above it; "
        "allowed: at least 10min. Each time counts from the loss, not from the step "
        "before.\n");
}

TEST_CASE("settings: damping that can never act is reported") {
  const std::string yaml = changed(sample, "suppress: 2500", "suppress: 2500, longest: 1h");
  CHECK(problems_of(yaml) ==
        "f.yaml:7:41: detection.steadiness.suppress: suppress 2500 can never be "
        "reached: the figure of merit ends at 2000; allowed: at most reuse × "
        "2^(longest / half_life). Lower suppress, or make longest (1h) longer against "
        "half_life (1h).\n");
}

TEST_CASE("settings: damping with reuse above suppress is reported") {
  const std::string yaml = changed(sample, "suppress: 2500", "suppress: 900");
  CHECK(problems_of(yaml) ==
        "f.yaml:7:41: detection.steadiness.suppress: suppress 900 is not above reuse "
        "1000; allowed: suppress above reuse.\n");
}

TEST_CASE("settings: more uplink answers than references is reported") {
  const std::string yaml =
      changed(sample, "    - {name: resolver, tcp: \"192.0.2.53:53\"}",
              "    - {name: resolver, tcp: \"192.0.2.53:53\"}\n  uplink_quorum: 2");
  CHECK(problems_of(yaml) ==
        "f.yaml:5:18: watcher.uplink_quorum: 2 of 1 uplink_references; allowed: from 0 "
        "to 1.\n");
}

TEST_CASE("settings: a reference without a port is reported") {
  const std::string yaml = changed(sample, "192.0.2.53:53", "192.0.2.53");
  CHECK(problems_of(yaml) ==
        "f.yaml:4:29: watcher.uplink_references[0].tcp: \"192.0.2.53\": no port; "
        "allowed: HOST:PORT, such as 192.0.2.53:53 or [2001:db8::1]:53.\n");
}

TEST_CASE("settings: a reference with two targets is reported") {
  const std::string yaml = changed(sample, "tcp: \"192.0.2.53:53\"",
                                   "tcp: \"192.0.2.53:53\", http: \"http://192.0.2.53/\"");
  CHECK(problems_of(yaml) ==
        "f.yaml:4:52: watcher.uplink_references[0].http: tcp and http in one "
        "reference; allowed: one of them. Make a second reference of it.\n");
}

TEST_CASE("settings: a quorum above the number of controllers is reported") {
  const std::string yaml = changed(sample, "        volume_l: 450",
                                   "        volume_l: 450\n        detection: {quorum: 3}");
  CHECK(problems_of(yaml) ==
        "f.yaml:15:29: sites[0].tanks[0].detection.quorum: 3 of 2 controllers of the "
        "tank; allowed: at most 2. all says the same and stays right.\n");
}

TEST_CASE("settings: a name instead of a listen address is reported") {
  const std::string yaml = changed(sample, "check_in_http: {address: \"127.0.0.1\"",
                                   "check_in_http: {address: localhost");
  CHECK(problems_of(yaml) ==
        "f.yaml:29:28: listen.check_in_http.address: \"localhost\"; allowed: an IP "
        "address of this machine, such as 127.0.0.1 or 0.0.0.0 or ::. Write 127.0.0.1.\n");
}

TEST_CASE("settings: a port of nought is reported") {
  const std::string yaml = changed(sample, "port: 8460", "port: 0");
  CHECK(problems_of(yaml) ==
        "f.yaml:29:47: listen.check_in_http.port: \"0\"; allowed: a whole number from 1 "
        "to 65535.\n");
}

TEST_CASE("settings: two listeners on one port is reported") {
  const std::string yaml = changed(sample, "port: 8461", "port: 8460");
  CHECK(problems_of(yaml) ==
        "f.yaml:30:39: listen.board.port: port 8460 is taken by check_in_http; "
        "allowed: a port of its own.\n");
}

TEST_CASE("settings: a tank without controllers is reported") {
  const std::string yaml =
      changed(sample,
              "        controllers:\n          - {id: lagoon-main, interval: 60s, supply: mains}\n "
              "         - {id: lagoon-logger, interval: 5min, supply: battery_backed}",
              "        controllers: []");
  CHECK(problems_of(yaml) ==
        "f.yaml:15:22: sites[0].tanks[0].controllers: no controller; allowed: at least "
        "one controller.\n");
}

TEST_CASE("settings: the watcher at an unknown site is reported") {
  const std::string yaml = changed(sample, "  name: harbour", "  name: harbour\n  site: elm-stret");
  CHECK(problems_of(yaml) ==
        "f.yaml:3:9: watcher.site: there is no site \"elm-stret\"; allowed: one of "
        "elm-street. Did you mean elm-street?\n");
}

TEST_CASE("settings: of a keyholder's languages one must be spoken here") {
  const auto with = [](const std::string& languages) {
    return changed(sample, "email: robin@example.net",
                   "email: robin@example.net, languages: " + languages);
  };
  CHECK(problems_of(with("[fr, de-AT]")) == "");
  CHECK(problems_of(with("[fr, pt-BR]")) ==
        "f.yaml:23:54: keyholders[0].languages: only fr, pt-BR; allowed: at least one of en, de, "
        "es. Notices come in the first language of the list that ebbwatch speaks.\n");
  CHECK(problems_of(with("[german]")).find("a language tag, such as en, de or pt-BR") !=
        std::string::npos);
}
