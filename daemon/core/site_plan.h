// What the core watches: sites, their tanks, their controllers, what they share, and the detection
// settings that hold for each. Built from the settings by settings/plan.*; immutable for one Watch.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"

namespace ebbwatch {

/// How many of a group must agree. `number` is used by Kind::count only and is at least 1.
struct Quorum {
  enum class Kind : std::uint8_t { all, majority, count };
  Kind kind = Kind::all;
  std::uint32_t number = 0;

  /// How many of `members` are needed: all of them, more than half, or `number` (never more than
  /// there are). 0 only when `members` is 0.
  constexpr std::uint32_t needed(std::uint32_t members) const {
    if (kind == Kind::all) return members;
    if (kind == Kind::majority) return members == 0 ? 0 : members / 2 + 1;
    return number < members ? number : members;
  }
  friend constexpr bool operator==(const Quorum&, const Quorum&) = default;
};

/// Damping of an unsteady source, RFC 2439 (figure of merit, half-life, suppress, reuse).
struct Steadiness {
  Span half_life = Span::of_h(1);
  double penalty = 1000;
  double suppress = 2500;
  double reuse = 1000;
  Span longest = Span::of_h(6);
  friend constexpr bool operator==(const Steadiness&, const Steadiness&) = default;
};

/// When a mains loss that a battery-backed controller reports may be told before the on-delay.
struct MainsReport {
  bool enabled = true;
  std::uint32_t quorum = 1;  ///< So many controllers of the site must report running on battery,
  /// one of them at least so long after the mains-fed ones fell silent,
  Span at_least = Span::of_s(50);
  /// or none of them has taken it back for so long.
  Span at_most = Span::of_s(150);
  friend constexpr bool operator==(const MainsReport&, const MainsReport&) = default;
};

/// Detection settings of one controller, tank or site, with all overrides already applied.
struct Detection {
  Span on_delay = Span::of_min(5);   ///< Hysteresis into loss, from the first missed arrival.
  Span off_delay = Span::of_min(3);  ///< Hysteresis out of loss: unbroken contact needed.
  std::uint32_t min_missed = 3;      ///< And at least so many expected check-ins missed in a row.
  Quorum quorum;                     ///< Of a tank's controllers that must be silent.
  Quorum site_quorum;                ///< Of a site's tanks that must be lost.
  Quorum witness_quorum{Quorum::Kind::majority, 0};
  Steadiness steadiness;
  MainsReport mains_report;
  friend constexpr bool operator==(const Detection&, const Detection&) = default;
};

enum class Supply : std::uint8_t { mains, battery_backed };

struct ControllerPlan {
  std::string id;
  TankIndex tank;
  Span interval;  ///< Configured; > 0.
  Supply supply = Supply::mains;
  Detection detection;
  std::string name{};  ///< For people; may be empty.
};

struct TankPlan {
  std::string id;
  SiteIndex site;
  std::vector<ControllerIndex> controllers;
  Detection detection;
  std::string name{};  ///< For people; may be empty.
};

struct SitePlan {
  std::string id;
  AreaIndex area;          ///< None when the site names no area.
  ProviderIndex provider;  ///< None when the site names no provider.
  std::vector<TankIndex> tanks;
  bool is_watchers_own = false;  ///< The watcher stands here: check-ins from here need no uplink.
  Detection detection;
  std::string name{};  ///< For people; may be empty.
};

struct GroupPlan {  ///< An area or a provider.
  std::string id;
  std::vector<SiteIndex> sites;
};

struct WatchPlan {
  std::string watcher;
  std::vector<ControllerPlan> controllers;
  std::vector<TankPlan> tanks;
  std::vector<SitePlan> sites;
  std::vector<GroupPlan> areas;
  std::vector<GroupPlan> providers;
  std::vector<std::string> uplink_references;
  std::uint32_t uplink_quorum = 0;  ///< 0: the own link is not judged.
  Span uplink_every = Span::of_s(30);
  std::vector<std::string> witnesses;
  /// Whether witnesses are asked before a loss is confirmed (Watch::take_questions()). When false
  /// what they heard is fed unasked, as a replay does.
  bool asks_witnesses = false;
  Span witness_limit = Span::of_s(10);  ///< The longest wait for their answers.
  /// Whether the start of this watcher can be told from its history (a trace's `uplink` rows, the
  /// daemon's own beat); when false only `start`/`stop` rows and mass silence tell.
  bool judges_own_presence = true;
};

/// The identifier of a subject in its scope's table. @pre the index is valid for the plan.
const std::string& subject_id(const WatchPlan& plan, Subject subject);
/// What people call it: its name when it has one, else the identifier.
const std::string& subject_name(const WatchPlan& plan, Subject subject);

}  // namespace ebbwatch
