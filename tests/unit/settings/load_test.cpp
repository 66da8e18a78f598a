// What a good configuration turns into: every key, every default, every level of overriding.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

namespace {

// Every key that there is.
const std::string everything = R"(
watcher:
  name: harbour
  state_dir: /tmp/state
  site: elm-street
  uplink_references:
    - {name: resolver, tcp: "192.0.2.53:53"}
    - {name: provider, http: "https://portal.example.net/"}
  uplink_quorum: 2
  uplink_every: 45s
  call_list: everyday
detection:
  on_delay: 10min
  off_delay: 4min
  min_missed: 5
  quorum: majority
  site_quorum: 2
  witness_quorum: all
  steadiness: {half_life: 2h, penalty: 900, suppress: 3000, reuse: 800, longest: 12h}
sites:
  - id: elm-street
    name: Elm Street
    area: north-side
    provider: coast-fibre
    call_list: everyday
    instructions: |
      The fuse box is behind the blue door.
      Ring twice.
    detection: {on_delay: 8min}
    tanks:
      - id: lagoon
        name: Lagoon reef
        volume_l: 450.5
        instructions: Check the return pump first.
        detection: {quorum: 1}
        controllers:
          - {id: lagoon-main, name: Main, interval: 60s, supply: mains, detection: {min_missed: 4}}
          - {id: lagoon-logger, interval: 5min, supply: battery_backed}
witnesses:
  - {name: breakwater, url: "https://breakwater.example.net:8460", key: {file: witness.key}}
notifiers:
  - {id: mail, kind: email, server: "smtp://mail.example.net", from: "tanks@example.net",
     user: tanks, password: {credential: mail}, starttls: required, ca_file: our-ca.pem}
  - {id: text, kind: sms_gateway, url: "http://127.0.0.1:13013/send", method: POST, body: json,
     fields: {password: "{secret}", to: "{phone}", text: "{text}"}, secret: {env: SMS_SECRET},
     headers: {X-Kind: tank}, accepted_status: [200, 202], success: "^OK",
     calls: {secret: {file: door}, url: "http://127.0.0.1:8460", sender: src, failed: [lost]}}
  - {id: hook, kind: webhook, url: "https://hooks.example.net/tanks", signing_key: {file: hook.key}}
  - {id: modem, kind: gsm_modem, device: /dev/ttyUSB0}
  - {id: siren, kind: program, command: [/usr/local/bin/siren, -l], time_limit: 20s}
keyholders:
  - {id: robin, name: Robin, email: robin@example.net, phone: "+15550100", languages: [en, pt-BR],
     hours: [shop, nights], summary_above: 3}
hours:
  - id: shop
    time_zone: Europe/Berlin
    windows:
      - {days: [mon, fri], from: "09:00", until: "18:30"}
      - {days: [sat]}
    closed_on: ["2026-12-25", "2028-02-29"]
  - id: nights
    windows: [{days: [sun], from: "22:00", until: "06:00"}]
call_lists:
  - id: everyday
    steps:
      - {after: 0min, tell: [robin], by: [text, mail]}
      - {after: 15min, tell: [robin], by: [modem, siren, hook]}
    repeat_every: 1h
    repeat_at_most: 3
    drills: {every: 30d, at: "10:05"}
    prove_every: 45d
    hours: [shop]
    otherwise: nights
    digest_at: "07:15"
  - {id: nights, steps: [{after: 0min, tell: [robin], by: [text]}]}
listen:
  check_in_http: {address: "0.0.0.0", port: 8460}
  check_in_udp: {address: "::", port: 8460}
  check_in_mqtt: {broker: "mqtt://127.0.0.1:1883", topic: "tanks/+/check-in"}
  board: {address: "127.0.0.1", port: 8461}
  public_url: https://harbour.example.net/
)";

Settings loaded(const std::string& yaml) {
  const Loaded result = load_settings_text(yaml, "f.yaml");
  REQUIRE(problems_of(result) == "");
  return result.settings;
}

}  // namespace

TEST_CASE("settings: every key of the watcher, witnesses and listeners is read") {
  const Settings s = loaded(everything);
  CHECK(s.file == "f.yaml");
  CHECK(s.watcher.name == "harbour");
  CHECK(s.watcher.state_dir == "/tmp/state");
  CHECK(s.watcher.site == "elm-street");
  REQUIRE(s.watcher.uplink_references.size() == 2);
  CHECK(s.watcher.uplink_references[0].kind == UplinkReference::Kind::tcp);
  CHECK(s.watcher.uplink_references[0].target == "192.0.2.53:53");
  CHECK(s.watcher.uplink_references[1].kind == UplinkReference::Kind::http);
  CHECK(s.watcher.uplink_references[1].target == "https://portal.example.net/");
  CHECK(s.watcher.uplink_quorum == 2);
  CHECK(s.watcher.uplink_every == Span::of_s(45));
  CHECK(s.watcher.call_list == "everyday");
  REQUIRE(s.witnesses.size() == 1);
  CHECK(s.witnesses[0].name == "breakwater");
  CHECK(s.witnesses[0].key.name == "witness.key");
  CHECK(s.listen.check_in_http->port == 8460);
  CHECK(s.listen.check_in_udp->address == "::");
  CHECK(s.listen.check_in_mqtt->topic == "tanks/+/check-in");
  CHECK(s.listen.board->address == "127.0.0.1");
  CHECK(s.listen.public_url == "https://harbour.example.net");
}

TEST_CASE("settings: every key of detection is read") {
  const Detection d = loaded(everything).detection;
  CHECK(d.on_delay == Span::of_min(10));
  CHECK(d.off_delay == Span::of_min(4));
  CHECK(d.min_missed == 5);
  CHECK(d.quorum == Quorum{Quorum::Kind::majority, 0});
  CHECK(d.site_quorum == Quorum{Quorum::Kind::count, 2});
  CHECK(d.witness_quorum == Quorum{Quorum::Kind::all, 0});
  CHECK(d.steadiness == Steadiness{Span::of_h(2), 900, 3000, 800, Span::of_h(12)});
}

TEST_CASE("settings: every key of a site, its tanks and controllers is read") {
  const Settings s = loaded(everything);
  REQUIRE(s.sites.size() == 1);
  const SiteSettings& site = s.sites[0];
  CHECK(site.name == "Elm Street");
  CHECK(site.area == "north-side");
  CHECK(site.provider == "coast-fibre");
  CHECK(site.call_list == "everyday");
  CHECK(site.instructions == "The fuse box is behind the blue door.\nRing twice.\n");
  REQUIRE(site.tanks.size() == 1);
  CHECK(site.tanks[0].name == "Lagoon reef");
  CHECK(site.tanks[0].facts.volume_l == 450.5);
  CHECK(site.tanks[0].instructions == "Check the return pump first.");
  REQUIRE(site.tanks[0].controllers.size() == 2);
  CHECK(site.tanks[0].controllers[0].name == "Main");
  CHECK(site.tanks[0].controllers[0].supply == Supply::mains);
  CHECK(site.tanks[0].controllers[1].name == "lagoon-logger");
  CHECK(site.tanks[0].controllers[1].interval == Span::of_min(5));
  CHECK(site.tanks[0].controllers[1].supply == Supply::battery_backed);
}

TEST_CASE("settings: every key of each kind of notifier is read") {
  const auto n = loaded(everything).notifiers;
  REQUIRE(n.size() == 5);
  CHECK(n[0].email.servers.front() == "smtp://mail.example.net");
  CHECK(n[0].email.from == "tanks@example.net");
  CHECK(n[0].email.user == "tanks");
  CHECK(n[0].email.password.kind == SecretSource::Kind::credential);
  CHECK(n[0].email.password.name == "mail");
  CHECK(n[0].email.starttls == StartTls::required);
  CHECK(n[0].email.ca_file.kind == SecretSource::Kind::file);
  CHECK(n[0].email.ca_file.name == "our-ca.pem");
  CHECK(n[1].sms_gateway.method == SmsGatewaySettings::Method::post);
  CHECK(n[1].sms_gateway.body == SmsGatewaySettings::Body::json);
  REQUIRE(n[1].sms_gateway.fields.size() == 3);
  CHECK(n[1].sms_gateway.fields[0] == std::pair<std::string, std::string>{"password", "{secret}"});
  CHECK(n[1].sms_gateway.fields[2].first == "text");
  CHECK(n[1].sms_gateway.headers.size() == 1);
  CHECK(n[1].sms_gateway.secret.kind == SecretSource::Kind::environment);
  CHECK(n[1].sms_gateway.accepted_status == std::vector<int>{200, 202});
  CHECK(n[1].sms_gateway.success == "^OK");
  REQUIRE(n[1].sms_gateway.calls.has_value());
  CHECK(n[1].sms_gateway.calls->url == "http://127.0.0.1:8460");
  CHECK(n[1].sms_gateway.calls->sender == "src");
  CHECK(n[1].sms_gateway.calls->text == "text");
  CHECK(n[1].sms_gateway.calls->failed == std::vector<std::string>{"lost"});
  CHECK(n[2].webhook.signing_key.name == "hook.key");
  CHECK(n[3].modem.device == "/dev/ttyUSB0");
  CHECK(n[4].program.command == std::vector<std::string>{"/usr/local/bin/siren", "-l"});
  CHECK(n[4].program.time_limit == Span::of_s(20));
}

TEST_CASE("settings: every key of keyholders and call lists is read") {
  const Settings s = loaded(everything);
  REQUIRE(s.keyholders.size() == 1);
  CHECK(s.keyholders[0].name == "Robin");
  CHECK(s.keyholders[0].email == "robin@example.net");
  CHECK(s.keyholders[0].phone == "+15550100");
  CHECK(s.keyholders[0].languages == std::vector<std::string>{"en", "pt-BR"});
  REQUIRE(s.hours.size() == 2);
  CHECK(s.hours[0].windows[0].days == std::vector<int>{0, 4});
  CHECK(s.hours[0].windows[0].from == 9 * 60);
  CHECK(s.hours[0].windows[0].until == 18 * 60 + 30);
  CHECK(s.hours[0].windows[1].from == 0);
  CHECK(s.hours[0].windows[1].until == 24 * 60);
  CHECK(s.hours[0].closed_on ==
        std::vector<std::int64_t>{day_of(2026, 12, 25), day_of(2028, 2, 29)});
  CHECK(s.hours[0].time_zone->name() == "Europe/Berlin");
  CHECK(s.hours[1].time_zone->name() == s.watcher.time_zone.name());
  CHECK(s.keyholders[0].hours == std::vector<std::string>{"shop", "nights"});
  CHECK(s.keyholders[0].summary_above == 3);
  REQUIRE(s.call_lists.size() == 2);
  CHECK(s.call_lists[0].hours == std::vector<std::string>{"shop"});
  CHECK(s.call_lists[0].otherwise == "nights");
  CHECK(s.call_lists[0].digest_at == 7 * 60 + 15);
  CHECK(s.call_lists[1].digest_at == 8 * 60);
  REQUIRE(s.call_lists[0].steps.size() == 2);
  CHECK(s.call_lists[0].steps[1].after == Span::of_min(15));
  CHECK(s.call_lists[0].steps[1].by == std::vector<std::string>{"modem", "siren", "hook"});
  CHECK(s.call_lists[0].repeat_every == Span::of_h(1));
  CHECK(s.call_lists[0].repeat_at_most == 3);
  CHECK(s.call_lists[0].drills.every == Span::of_days(30));
  CHECK(s.call_lists[0].drills.at == 605);
  CHECK(s.call_lists[0].prove_every == Span::of_days(45));
}

TEST_CASE("settings: what is not given has its documented default") {
  const Settings s = loaded(
      "watcher: {name: harbour}\n"
      "sites: [{id: elm, tanks: [{id: reef, controllers: [{id: reef-main}]}]}]\n"
      "notifiers:\n"
      "  - {id: mail, kind: email, server: \"smtp://m.example.net\", from: t@example.net}\n"
      "  - {id: hook, kind: webhook, url: \"http://h.example.net\"}\n"
      "  - {id: text, kind: sms_gateway, url: \"http://g.example.net/?to={phone}&text={text}\"}\n"
      "  - {id: bell, kind: program, command: [/bin/true]}\n"
      "keyholders: [{id: robin}]\n"
      "call_lists: [{id: all, steps: [{after: 0s, tell: [robin], by: [bell]}]}]\n");
  CHECK(s.watcher.state_dir == "/var/lib/ebbwatch");
  CHECK_FALSE(s.watcher.site.has_value());
  CHECK_FALSE(s.watcher.call_list.has_value());
  CHECK(s.watcher.uplink_quorum == 0);  // There is nothing to ask.
  CHECK(s.watcher.uplink_every == Span::of_s(30));
  CHECK(s.detection == Detection{});
  CHECK(s.detection.on_delay == Span::of_min(5));
  CHECK(s.detection.off_delay == Span::of_min(3));
  CHECK(s.detection.min_missed == 3);
  CHECK(s.detection.quorum.kind == Quorum::Kind::all);
  CHECK(s.detection.site_quorum.kind == Quorum::Kind::all);
  CHECK(s.detection.witness_quorum.kind == Quorum::Kind::majority);
  CHECK(s.detection.steadiness == Steadiness{Span::of_h(1), 1000, 2500, 1000, Span::of_h(6)});
  CHECK(s.sites[0].name == "elm");
  CHECK_FALSE(s.sites[0].area.has_value());
  CHECK_FALSE(s.sites[0].call_list.has_value());
  CHECK(s.sites[0].tanks[0].name == "reef");
  CHECK_FALSE(s.sites[0].tanks[0].facts.volume_l.has_value());
  CHECK(s.sites[0].tanks[0].controllers[0].interval == Span::of_min(1));
  CHECK(s.sites[0].tanks[0].controllers[0].supply == Supply::mains);
  CHECK(s.notifiers[0].email.starttls == StartTls::when_offered);
  CHECK_FALSE(s.notifiers[0].email.password.given());
  CHECK_FALSE(s.notifiers[1].webhook.signing_key.given());
  CHECK(s.notifiers[2].sms_gateway.method == SmsGatewaySettings::Method::get);
  CHECK(s.notifiers[2].sms_gateway.body == SmsGatewaySettings::Body::form);
  CHECK(s.notifiers[2].sms_gateway.accepted_status == std::vector<int>{200, 201, 202, 204});
  CHECK(s.notifiers[3].program.time_limit == Span::of_s(30));
  CHECK(s.keyholders[0].name == "robin");
  CHECK(s.keyholders[0].languages == std::vector<std::string>{"en"});
  CHECK_FALSE(s.call_lists[0].repeat_every.has_value());
  CHECK(s.call_lists[0].repeat_at_most == 6);
  CHECK_FALSE(s.listen.check_in_http.has_value());
  CHECK(s.listen.public_url.empty());
}

TEST_CASE("settings: one answer is asked of the references unless told otherwise") {
  CHECK(loaded(sample).watcher.uplink_quorum == 1);
  CHECK(loaded(changed(sample, "  name: harbour", "  name: harbour\n  uplink_quorum: 0"))
            .watcher.uplink_quorum == 0);
}

TEST_CASE("settings: an empty list of references with a quorum of nought is fine") {
  const std::string yaml =
      changed(sample, "uplink_references:\n    - {name: resolver, tcp: \"192.0.2.53:53\"}",
              "uplink_references: []\n  uplink_quorum: 0");
  CHECK(loaded(yaml).watcher.uplink_quorum == 0);
}

TEST_CASE("settings: all problems of all levels come in one run, in the order of the file") {
  std::string yaml = changed(sample, "on_delay: 5min", "on_dealy: 5");
  yaml = changed(yaml, "volume_l: 450", "volume_l: lots");
  yaml = changed(yaml, "supply: battery_backed", "supply: batery_backed");
  yaml = changed(yaml, "kind: email", "kind: email, colour: red");
  yaml = changed(yaml, "tell: [robin]", "tell: [sam]");
  yaml = changed(yaml, "port: 8461", "port: http");
  const Loaded result = load_settings_text(yaml, "f.yaml");
  std::string places;
  for (const Problem& p : result.problems) {
    places += std::to_string(p.line) + ":" + std::to_string(p.column) + " " + p.key + "\n";
  }
  // The value of a misspelt key is checked as well: two problems in line 6.
  CHECK(places ==
        "6:3 detection.on_dealy\n"
        "6:13 detection.on_delay\n"
        "14:19 sites[0].tanks[0].volume_l\n"
        "17:57 sites[0].tanks[0].controllers[1].supply\n"
        "19:29 notifiers[0].colour\n"
        "27:30 call_lists[0].steps[0].tell[0]\n"
        "30:39 listen.board.port\n");
}

TEST_CASE("settings: an alias stands for the value of its anchor") {
  std::string yaml = changed(sample, "interval: 60s", "interval: &every 90s");
  yaml = changed(yaml, "interval: 5min", "interval: *every");
  CHECK(loaded(yaml).sites[0].tanks[0].controllers[1].interval == Span::of_s(90));
}

TEST_CASE("settings: an empty file says what is needed") {
  CHECK(problems_of("") ==
        "f.yaml: watcher.name: missing; allowed: this key is needed.\n"
        "f.yaml: sites: no site; allowed: at least one site with a tank and a controller.\n");
}

TEST_CASE("settings: bytes that are no text are reported at their place") {
  CHECK(problems_of(changed(sample, "Elm Street", "Elm \xff Street")) ==
        "f.yaml:10:15: a byte that is not text; allowed: UTF-8. Save the file as UTF-8.\n");
}

TEST_CASE("settings: nesting without end is an error, not a crash") {
  const Loaded result = load_settings_text(std::string(100'000, '['), "f.yaml");
  CHECK(result.problems.size() == 1);
}

TEST_CASE("settings: every prefix of a good file is read without a crash") {
  for (std::size_t length = 0; length < everything.size(); ++length) {
    (void)load_settings_text(std::string_view(everything).substr(0, length), "f.yaml");
  }
}

TEST_CASE("settings: the commented sample has no problem") {
  CHECK(problems_of(load_settings(EBBWATCH_SOURCE_DIR "/config/ebbwatch.yaml")) == "");
}
