// One broken configuration a test; each asserts the whole report: place, key, what is allowed, a
// hint.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

TEST_CASE("settings: a misspelt key names the one that was meant") {
  const std::string yaml = changed(sample, "  on_delay: 5min", "  on_dealy: 5min");
  CHECK(problems_of(yaml) ==
        "f.yaml:6:3: detection.on_dealy: unknown key; allowed: on_delay, off_delay, "
        "min_missed, quorum, site_quorum, witness_quorum, steadiness, "
        "mains_report, tell_within, false_alarms_at_most. Did you mean "
        "on_delay?\n");
}

TEST_CASE("settings: a key in the wrong place is sent to the right one") {
  const std::string yaml =
      changed(sample, "    call_list: everyday\n", "    call_list: everyday\n    on_delay: 8min\n");
  CHECK(problems_of(yaml) ==
        "f.yaml:12:5: sites[0].on_delay: unknown key; allowed: id, name, area, "
        "provider, call_list, altitude_m, instructions, tells_first, tanks, detection. It belongs "
        "under "
        "\"detection:\".\n");
}

TEST_CASE("settings: an unknown key lists the allowed ones") {
  const std::string yaml =
      changed(sample, "    name: Elm Street", "    name: Elm Street\n    colour: blue");
  CHECK(problems_of(yaml) ==
        "f.yaml:11:5: sites[0].colour: unknown key; allowed: id, name, area, provider, "
        "call_list, altitude_m, instructions, tells_first, tanks, detection.\n");
}

TEST_CASE("settings: a key given twice is reported") {
  const std::string yaml =
      changed(sample, "    name: Elm Street", "    name: Elm Street\n    name: Elm");
  CHECK(problems_of(yaml) ==
        "f.yaml:11:5: sites[0].name: given twice, first on line 10; allowed: each key "
        "once.\n");
}

TEST_CASE("settings: a bare number is no duration") {
  const std::string yaml = changed(sample, "  on_delay: 5min", "  on_delay: 5");
  CHECK(problems_of(yaml) ==
        "f.yaml:6:13: detection.on_delay: \"5\"; allowed: a duration from 1s to 7d: a "
        "number with one of the units ms, s, min, h, d. The unit is missing: 5s or "
        "5min?\n");
}

TEST_CASE("settings: an unknown unit is reported") {
  const std::string yaml = changed(sample, "interval: 60s", "interval: 60sec");
  CHECK(problems_of(yaml) ==
        "f.yaml:16:41: sites[0].tanks[0].controllers[0].interval: \"60sec\"; allowed: a "
        "duration from 1s to 7d: a number with one of the units ms, s, min, h, d.\n");
}

TEST_CASE("settings: a duration out of range is reported") {
  const std::string yaml = changed(sample, "interval: 60s", "interval: 100ms");
  CHECK(problems_of(yaml) ==
        "f.yaml:16:41: sites[0].tanks[0].controllers[0].interval: \"100ms\"; allowed: a "
        "duration from 1s to 7d.\n");
}

TEST_CASE("settings: a list where a mapping belongs is reported") {
  const std::string yaml =
      changed(sample, "detection:\n  on_delay: 5min\n  steadiness: {half_life: 1h, suppress: 2500}",
              "detection: [5min]");
  CHECK(problems_of(yaml) ==
        "f.yaml:5:12: detection: a list; allowed: a mapping with the keys on_delay, "
        "off_delay, min_missed, quorum, site_quorum, witness_quorum, steadiness, "
        "mains_report, tell_within, false_alarms_at_most.\n");
}

TEST_CASE("settings: a mapping where a list belongs is reported") {
  const std::string yaml = changed(sample, "keyholders:\n  - {id", "keyholders:\n    {id");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:5: keyholders: a mapping; allowed: a list. Begin each item with \"- "
        "\".\n");
}

TEST_CASE("settings: a text where a number belongs is reported") {
  const std::string yaml = changed(sample, "volume_l: 450", "volume_l: lots");
  CHECK(problems_of(yaml) ==
        "f.yaml:14:19: sites[0].tanks[0].volume_l: \"lots\"; allowed: a number above 0 "
        "to 10000000.\n");
}

TEST_CASE("settings: a quoted number is reported") {
  const std::string yaml = changed(sample, "volume_l: 450", "volume_l: \"450\"");
  CHECK(problems_of(yaml) ==
        "f.yaml:14:19: sites[0].tanks[0].volume_l: \"450\"; allowed: a number above 0 to "
        "10000000. Write it without quotes.\n");
}

TEST_CASE("settings: a number out of range is reported") {
  const std::string yaml = changed(sample, "volume_l: 450", "volume_l: -3");
  CHECK(problems_of(yaml) ==
        "f.yaml:14:19: sites[0].tanks[0].volume_l: \"-3\"; allowed: a number above 0 to "
        "10000000.\n");
}

TEST_CASE("settings: nothing where a value belongs is reported") {
  const std::string yaml = changed(sample, "    name: Elm Street", "    name:");
  CHECK(problems_of(yaml) == "f.yaml:10:5: sites[0].name: nothing; allowed: one line of text.\n");
}

TEST_CASE("settings: an identifier with capitals and spaces is reported") {
  const std::string yaml = changed(sample, "id: lagoon\n", "id: Lagoon Reef\n");
  CHECK(problems_of(yaml) ==
        "f.yaml:13:13: sites[0].tanks[0].id: \"Lagoon Reef\"; allowed: an identifier: 1 "
        "to 63 of a-z 0-9 -, starting with a letter. Write lagoon-reef; how people see "
        "it goes under name.\n");
}

TEST_CASE("settings: a name that is too long is reported") {
  std::string name;
  for (int i = 0; i < 81; ++i) name += "\u00e9";
  const std::string yaml = changed(sample, "name: Elm Street", "name: " + name);
  CHECK(problems_of(yaml) ==
        "f.yaml:10:11: sites[0].name: 81 characters; allowed: at most 80 characters.\n");
}

TEST_CASE("settings: a missing identifier is reported") {
  const std::string yaml = changed(sample, "- id: lagoon\n        volume_l", "- volume_l");
  CHECK(problems_of(yaml) ==
        "f.yaml:13:9: sites[0].tanks[0].id: missing; allowed: this key is needed.\n");
}

TEST_CASE("settings: a wrong word of a choice is reported") {
  const std::string yaml = changed(sample, "supply: mains}", "supply: main}");
  CHECK(problems_of(yaml) ==
        "f.yaml:16:54: sites[0].tanks[0].controllers[0].supply: \"main\"; allowed: "
        "mains, battery_backed. Did you mean mains?\n");
}

TEST_CASE("settings: a quorum of nought is reported") {
  const std::string yaml = changed(sample, "  on_delay: 5min", "  on_delay: 5min\n  quorum: 0");
  CHECK(problems_of(yaml) ==
        "f.yaml:7:11: detection.quorum: \"0\"; allowed: all, majority or a whole number "
        "from 1.\n");
}

TEST_CASE("settings: a tab in the indentation is reported") {
  const std::string yaml = changed(sample, "    name: Elm Street", "\tname: Elm Street");
  CHECK(problems_of(yaml) ==
        "f.yaml:10:1: illegal tab when looking for indentation; allowed: YAML. Indent "
        "with spaces; YAML does not take tabs.\n");
}

TEST_CASE("settings: an unclosed quote is reported") {
  const std::string yaml = changed(sample, "    name: Elm Street", "    name: \"Elm Street");
  CHECK(problems_of(yaml) ==
        "f.yaml:19:38: end of map not found; allowed: YAML. Look at the indentation, "
        "colons, quotes and brackets here and on the line above.\n");
}

TEST_CASE("settings: a bracket that is not closed is reported") {
  const std::string yaml = changed(sample, "tell: [robin], by", "tell: [robin, by");
  CHECK(problems_of(yaml) ==
        "f.yaml:27:53: illegal flow end; allowed: YAML. Look at the indentation, "
        "colons, quotes and brackets here and on the line above.\n");
}

TEST_CASE("settings: an alias inside itself is reported") {
  const std::string yaml = changed(sample, "tell: [robin]", "tell: &a [*a]");
  CHECK(problems_of(yaml) ==
        "f.yaml:27:33: an alias inside the value that it stands for; allowed: a value.\n");
}

TEST_CASE("settings: a second document is reported") {
  const std::string yaml = changed(sample, "keyholders:", "---\nkeyholders:");
  CHECK(problems_of(yaml) ==
        "f.yaml:23:1: a second document; allowed: one document in a file. Remove the "
        "line \"---\", or make a file of its own.\n");
}

TEST_CASE("settings: an include in a text is reported") {
  const std::string yaml = changed(sample, "watcher:", "include: sites\nwatcher:");
  CHECK(problems_of(yaml) ==
        "f.yaml:1:10: include: \"sites\"; allowed: a list. Write [ ] around the items.\n");
}

TEST_CASE("settings: hours say what they want") {
  const auto with = [](const std::string& hours, const std::string& list) {
    return problems_of(changed(sample, "call_lists:\n  - id: everyday\n",
                               hours + "call_lists:\n  - id: everyday\n" + list));
  };
  const std::string shop =
      "hours: [{id: shop, windows: [{days: [mon], from: \"09:00\", until: \"18:00\"}]}]\n";
  CHECK(with(shop, "    hours: [shop]\n") == "");
  CHECK(with(shop, "    hours: [shops]\n").find("there is no set of hours \"shops\"") !=
        std::string::npos);
  CHECK(with(shop, "    otherwise: everyday\n").find("only beside hours") != std::string::npos);
  CHECK(with(shop, "    hours: [shop]\n    otherwise: everyday\n").find("the list itself") !=
        std::string::npos);
  CHECK(with("hours: [{id: shop, windows: [{days: [monday]}]}]\n", "")
            .find("mon, tue, wed, thu, fri, sat, sun") != std::string::npos);
  for (const char* day : {"2026-02-29", "2026-13-01", "2026-1-1", "25.12.2026", "2026-00-10"}) {
    CHECK(with("hours: [{id: shop, windows: [{days: [mon]}], closed_on: [\"" + std::string(day) +
                   "\"]}]\n",
               "")
              .find("a day such as \"2026-12-25\"") != std::string::npos);
  }
}

TEST_CASE("settings: drills, proofs, times of day and time zones say what they want") {
  const auto with = [](const std::string& keys) {
    return problems_of(changed(sample, "  - id: everyday\n", "  - id: everyday\n" + keys));
  };
  CHECK(with("    drills: {every: 30d, at: \"23:59\"}\n    prove_every: 30d\n") == "");
  CHECK(with("    drills: {every: 30d, at: \"24:00\"}\n").find("a time of day from \"00:00\"") !=
        std::string::npos);
  CHECK(with("    drills: {every: 2h, at: \"10:00\"}\n").find("only where every is 1d or longer") !=
        std::string::npos);
  CHECK(
      with("    drills: {every: 30d}\n    prove_every: 29d\n").find("at least drills.every, 30d") !=
      std::string::npos);
  const auto zone = [](const std::string& name) {
    return problems_of(
        changed(sample, "  name: harbour\n", "  name: harbour\n  time_zone: " + name + "\n"));
  };
  CHECK(zone("Europe/Berlin") == "");
  for (const char* wrong : {"Europe/Atlantis", "/etc/localtime", "../etc/passwd", "Europe"}) {
    CHECK(zone(wrong).find("the name of a time zone such as Europe/Berlin") != std::string::npos);
  }
}
