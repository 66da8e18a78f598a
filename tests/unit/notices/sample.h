// A small club for the tests of notices: two sites in one area, five keyholder ways, one watcher.
// Times of day are in UTC: every test program that prints them starts with use_utc().
#pragma once

#include <cstdint>
#include <cstdlib>
#include <ctime>
#include <span>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/site_plan.h"
#include "notices/notice_desk.h"
#include "ports/entropy.h"
#include "settings/plan.h"
#include "settings/settings.h"
#include "text/rfc3339.h"

namespace ebbwatch::sample {

inline void use_utc() {
  setenv("TZ", "UTC", 1);
  tzset();
}

/// Counts up, so that identifiers differ and runs repeat; unit() follows from the bytes.
class CountingEntropy final : public Entropy {
 public:
  explicit CountingEntropy(std::uint64_t start = 0) : state_(start) {}
  void fill(std::span<std::uint8_t> bytes) override {
    for (auto& byte : bytes) {
      state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
      byte = static_cast<std::uint8_t>(state_ >> 56);
    }
  }

 private:
  std::uint64_t state_;
};

/// 2026-02-22T14:00:00Z
inline constexpr WallTime two_o_clock{1'771'768'800'000'000};

inline NotifierSettings notifier(const std::string& id, NotifierKind kind) {
  NotifierSettings settings;
  settings.id = id;
  settings.kind = kind;
  return settings;
}

inline KeyholderSettings keyholder(const std::string& id, const std::string& name,
                                   const std::string& email, const std::string& phone) {
  KeyholderSettings settings;
  settings.id = id;
  settings.name = name;
  settings.email = email;
  settings.phone = phone;
  return settings;
}

inline SiteSettings elm_street() {
  SiteSettings site;
  site.id = "elm-street";
  site.name = "Elm Street";
  site.area = "north-side";
  site.provider = "coast-fibre";
  site.call_list = "everyday";
  TankSettings lagoon;
  lagoon.id = "lagoon";
  lagoon.name = "Lagoon reef";
  lagoon.instructions =
      "Breaker 4 in the cellar, left of the door.\nThe air pump with battery is in the cabinet. "
      "Ring Kim, +1 555 0142, who lives next door.";
  ControllerSettings main;
  main.id = "lagoon-main";
  main.name = "lagoon-main";
  ControllerSettings logger;
  logger.id = "lagoon-logger";
  logger.name = "lagoon-logger";
  logger.supply = Supply::battery_backed;
  lagoon.controllers = {main, logger};
  TankSettings nursery;
  nursery.id = "nursery";
  nursery.name = "Nursery";
  ControllerSettings small;
  small.id = "nursery-main";
  small.name = "nursery-main";
  nursery.controllers = {small};
  site.tanks = {lagoon, nursery};
  return site;
}

inline SiteSettings oak_street() {
  SiteSettings site;
  site.id = "oak-street";
  site.name = "Oak Street";
  site.area = "north-side";
  site.call_list = "oak";
  TankSettings bay;
  bay.id = "bay";
  bay.name = "Bay";
  ControllerSettings main;
  main.id = "bay-main";
  main.name = "bay-main";
  bay.controllers = {main};
  site.tanks = {bay};
  return site;
}

inline Settings settings() {
  Settings all;
  all.watcher.name = "harbour";
  all.watcher.call_list = "everyday";
  all.sites = {elm_street(), oak_street()};
  all.notifiers = {notifier("hook", NotifierKind::webhook), notifier("mail", NotifierKind::email),
                   notifier("siren", NotifierKind::program),
                   notifier("text", NotifierKind::sms_gateway)};
  all.keyholders = {keyholder("robin", "Robin", "robin@example.net", "+15550100"),
                    keyholder("sam", "Sam", "sam@example.net", "+15550101"),
                    keyholder("kim", "Kim", "", "+15550142")};
  CallListSettings everyday;
  everyday.id = "everyday";
  everyday.steps = {{Span::of_min(0), {"robin"}, {"text", "mail"}},
                    {Span::of_min(15), {"sam"}, {"text"}}};
  everyday.repeat_every = Span::of_h(1);
  everyday.repeat_at_most = 2;
  CallListSettings oak;
  oak.id = "oak";
  oak.steps = {{Span::of_min(0), {"kim"}, {"text"}}};
  all.call_lists = {everyday, oak};
  return all;
}

inline Subject tank(std::uint32_t index) {
  return {Scope::tank, index};
}

inline Decision decision(DecisionKind kind, Subject subject, OutageId outage) {
  Decision made;
  made.kind = kind;
  made.subject = subject;
  made.outage = outage;
  return made;
}

/// Told at `now`, which is also when it was decided; contact ended 12 min before.
inline DeskContext context(WallTime now) {
  DeskContext made;
  made.at = now;
  made.now = now;
  made.since = now - Span::of_min(12);
  made.time_text = [now](Instant at) { return time_of_day(WallTime{at.us}, now); };
  return made;
}

}  // namespace ebbwatch::sample
