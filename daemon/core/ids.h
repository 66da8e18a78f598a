// Positions in a SitePlan. The core never handles names: settings/ gives every controller, tank,
// site, area and provider a position once, and decisions carry positions that the edges turn back
// into identifiers.
#pragma once

#include <compare>
#include <cstdint>

namespace ebbwatch {

template <class Tag>
struct Index {
  static constexpr std::uint32_t none_value = 0xffffffffU;
  std::uint32_t value = none_value;

  constexpr bool is_none() const { return value == none_value; }
  friend constexpr auto operator<=>(Index, Index) = default;
};

using ControllerIndex = Index<struct ControllerTag>;
using TankIndex = Index<struct TankTag>;
using SiteIndex = Index<struct SiteTag>;
using AreaIndex = Index<struct AreaTag>;
using ProviderIndex = Index<struct ProviderTag>;
using ReferenceIndex = Index<struct ReferenceTag>;
using WitnessIndex = Index<struct WitnessTag>;

/// Links a loss, its revisions and its recovery. Counts up from 1 in the life of a state directory
/// and is never used again; 0 is none.
using OutageId = std::uint64_t;

/// What a decision is about, narrowest first. `watcher` is this watcher itself.
enum class Scope : std::uint8_t { controller, tank, site, area, provider, watcher };

/// A scope with the position of the subject in that scope's table (0 for `watcher`).
struct Subject {
  Scope scope = Scope::controller;
  std::uint32_t index = 0;
  friend constexpr auto operator<=>(Subject, Subject) = default;
};

}  // namespace ebbwatch
