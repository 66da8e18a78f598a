// A small valid configuration that tests break in one place at a time.
#pragma once

#include <doctest/doctest.h>

#include <string>
#include <string_view>
#include <vector>

#include "settings/load.h"

namespace ebbwatch::test {

/// Line 1 is `watcher:`; the tests count on the lines.
inline const std::string sample = R"(watcher:
  name: harbour
  uplink_references:
    - {name: resolver, tcp: "192.0.2.53:53"}
detection:
  on_delay: 5min
  steadiness: {half_life: 1h, suppress: 2500}
sites:
  - id: elm-street
    name: Elm Street
    call_list: everyday
    tanks:
      - id: lagoon
        volume_l: 450
        controllers:
          - {id: lagoon-main, interval: 60s, supply: mains}
          - {id: lagoon-logger, interval: 5min, supply: battery_backed}
notifiers:
  - {id: mail, kind: email, server: "smtps://mail.example.net:465", from: "tanks@example.net"}
  - {id: text, kind: sms_gateway, url: "http://127.0.0.1:13013/send",
     fields: {to: "{phone}", text: "{text}"}}
keyholders:
  - {id: robin, email: robin@example.net, phone: "+15550100"}
call_lists:
  - id: everyday
    steps:
      - {after: 0min, tell: [robin], by: [text, mail]}
listen:
  check_in_http: {address: "127.0.0.1", port: 8460}
  board: {address: "127.0.0.1", port: 8461}
)";

/// The sample with one text put in place of another. The old one must be there exactly once.
inline std::string changed(std::string yaml, std::string_view old_text, std::string_view new_text) {
  const auto at = yaml.find(old_text);
  REQUIRE_MESSAGE(at != yaml.npos, "not in the sample: ", std::string(old_text));
  REQUIRE_MESSAGE(yaml.find(old_text, at + 1) == yaml.npos, "twice: ", std::string(old_text));
  return yaml.replace(at, old_text.size(), new_text);
}

/// All problems as people see them, one a line.
inline std::string problems_of(const Loaded& loaded) {
  std::string all;
  for (const Problem& problem : loaded.problems) all += text(problem) + "\n";
  return all;
}
inline std::string problems_of(std::string_view yaml) {
  return problems_of(load_settings_text(yaml, "f.yaml"));
}

}  // namespace ebbwatch::test
