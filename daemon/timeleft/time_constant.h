// What recorded stretches without power teach of a tank: the time constant with which it takes the
// temperature of its room. Worth more than what its size says.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

struct SpellSample {
  double at_h = 0;  ///< Hours from any beginning, rising.
  double water_c = 0;
  std::optional<double> room_c;
};
/// One stretch without heater, chiller, lights and pumps.
using Spell = std::vector<SpellSample>;

/// Cuts what one controller reported into spells.
class SpellFinder {
 public:
  /// Check-ins in the order of time. @param unpowered nothing heated, cooled or moved the water.
  /// A sample without power goes on with the spell; one with power, or a gap of over an hour, ends
  /// it.
  void take(WallTime at, bool unpowered, double water_c, std::optional<double> room_c);
  /// All spells so far, the running one included, of at least `samples_min` samples each.
  std::vector<Spell> finish();

  static constexpr std::size_t samples_min = 8;

 private:
  void end();
  std::vector<Spell> spells_;
  Spell running_;
  std::optional<WallTime> beginning_, last_;
};

/// The time constant of one spell in hours; empty when the spell does not show it well enough:
/// water that moved less than 1 K (ten steps of a usual probe), a spell under a fifth of the
/// result, a gap of over a tenth of the spell, readings that do not lie on such a curve (somebody
/// changed water, the heater came on), or a standard error over 10 %.
///
/// Least squares of the water's temperature on the integral of (water - room), which is the
/// solution of dT/dt = -(T - equilibrium)/tau without a derivative, so noise averages out and the
/// room may change meanwhile. Where the equilibrium is not the room's temperature (an open tank
/// evaporates) or the room is unknown, time is a second regressor and the equilibrium is found as
/// well.
/// @param equilibrium_is_room a closed tank; needs room_c in every sample.
std::optional<double> time_constant_h(const Spell& spell, bool equilibrium_is_room);

/// What several spells say together.
struct LearntTimeConstant {
  double hours = 0;        ///< The median.
  double factor = 1;       ///< >= 1: true in hours / factor to hours * factor, mostly.
  std::size_t spells = 0;  ///< >= 1
};
/// Empty for no spell. Fewer than five spells keep the factor of an estimate from size; from five
/// on it is their own spread, 1.10 at least. @param each > 0.
std::optional<LearntTimeConstant> combine(std::vector<double> hours);

/// How far a time constant from size alone may be off, as a factor: an assumption.
inline constexpr double size_factor = 1.35;

}  // namespace ebbwatch
