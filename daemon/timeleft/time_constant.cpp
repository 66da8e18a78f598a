#include "timeleft/time_constant.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch {
namespace {

constexpr Span gap_max = Span::of_h(1);
constexpr double moved_min_k = 1.0;
constexpr double probe_step_k = 0.1;
constexpr double share_of_tau_min = 0.2;
constexpr double gap_share_max = 0.1;
constexpr double misfit_share_max = 0.03;
constexpr double standard_error_max = 0.10;
constexpr std::size_t enough_spells = 5;
constexpr double learnt_factor_min = 1.10;

double longest_gap_h(const Spell& spell) {
  double longest = 0;
  for (std::size_t i = 1; i < spell.size(); ++i) {
    longest = std::max(longest, spell[i].at_h - spell[i - 1].at_h);
  }
  return longest;
}

bool knows_room(const Spell& spell) {
  return std::all_of(spell.begin(), spell.end(),
                     [](const SpellSample& sample) { return sample.room_c.has_value(); });
}

/// Sums of products about the means of three columns.
struct Moments {
  double xx = 0, xt = 0, tt = 0, xy = 0, ty = 0, yy = 0;
};

struct Columns {
  std::vector<double> integral, hours, water;
};

Columns columns_of(const Spell& spell, bool with_room) {
  Columns columns;
  const auto above_room = [with_room](const SpellSample& sample) {
    return sample.water_c - (with_room ? *sample.room_c : 0);
  };
  double integral = 0;
  for (std::size_t i = 0; i < spell.size(); ++i) {
    if (i > 0) {
      integral += (above_room(spell[i]) + above_room(spell[i - 1])) / 2 *
                  (spell[i].at_h - spell[i - 1].at_h);
    }
    columns.integral.push_back(integral);
    columns.hours.push_back(spell[i].at_h);
    columns.water.push_back(spell[i].water_c);
  }
  return columns;
}

void subtract_mean(std::vector<double>& column) {
  double sum = 0;
  for (const double value : column) sum += value;
  const double mean = sum / static_cast<double>(column.size());
  for (double& value : column) value -= mean;
}

Moments moments_of(Columns columns) {
  for (auto* column : {&columns.integral, &columns.hours, &columns.water}) subtract_mean(*column);
  Moments m;
  for (std::size_t i = 0; i < columns.water.size(); ++i) {
    const double x = columns.integral[i], t = columns.hours[i], y = columns.water[i];
    m.xx += x * x, m.xt += x * t, m.tt += t * t, m.xy += x * y, m.ty += t * y, m.yy += y * y;
  }
  return m;
}

struct Fit {
  double slope = 0;     ///< Of temperature on the integral: -1/tau.
  double variance = 0;  ///< Of the slope.
  double misfit_k = 0;  ///< Root of the mean squared residual.
};

std::optional<Fit> fit(const Moments& m, std::size_t samples, bool equilibrium_is_room) {
  const auto n = static_cast<double>(samples);
  double slope = 0, explained = 0, spread = 0;
  if (equilibrium_is_room) {
    if (m.xx <= 0) return std::nullopt;
    slope = m.xy / m.xx;
    explained = slope * m.xy;
    spread = m.xx;
  } else {
    const double determinant = m.xx * m.tt - m.xt * m.xt;
    if (determinant <= 1e-12 * m.xx * m.tt) return std::nullopt;
    slope = (m.xy * m.tt - m.ty * m.xt) / determinant;
    const double drift = (m.ty * m.xx - m.xy * m.xt) / determinant;
    explained = slope * m.xy + drift * m.ty;
    spread = determinant / m.tt;
  }
  const double unexplained = std::max(0.0, m.yy - explained);
  const double parameters = equilibrium_is_room ? 2 : 3;
  return Fit{slope, unexplained / (n - parameters) / spread, std::sqrt(unexplained / n)};
}

double percentile(const std::vector<double>& sorted, double share) {
  const double place = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (place - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

}  // namespace

void SpellFinder::take(WallTime at, bool unpowered, double water_c, std::optional<double> room_c) {
  if (!unpowered || (last_ && (at - *last_ > gap_max || at <= *last_))) end();
  if (!unpowered) return;
  if (!beginning_) beginning_ = at;
  last_ = at;
  running_.push_back({(at - *beginning_).seconds() / 3600, water_c, room_c});
}

void SpellFinder::end() {
  if (running_.size() >= samples_min) spells_.push_back(std::move(running_));
  running_.clear();
  beginning_.reset();
  last_.reset();
}

std::vector<Spell> SpellFinder::finish() {
  end();
  return std::move(spells_);
}

std::optional<double> time_constant_h(const Spell& spell, bool equilibrium_is_room) {
  if (spell.size() < SpellFinder::samples_min) return std::nullopt;
  const bool with_room = knows_room(spell);
  if (equilibrium_is_room && !with_room) return std::nullopt;
  const double lasted_h = spell.back().at_h - spell.front().at_h;
  const double moved_k = std::fabs(spell.back().water_c - spell.front().water_c);
  if (moved_k < moved_min_k || longest_gap_h(spell) > gap_share_max * lasted_h) return std::nullopt;
  const auto found =
      fit(moments_of(columns_of(spell, with_room)), spell.size(), equilibrium_is_room);
  if (!found || !(found->slope < 0)) return std::nullopt;
  const double tau_h = -1 / found->slope;
  const double standard_error = std::sqrt(found->variance) * tau_h;
  const bool fits = found->misfit_k <= std::max(probe_step_k, misfit_share_max * moved_k);
  if (!fits || standard_error > standard_error_max || lasted_h < share_of_tau_min * tau_h) {
    return std::nullopt;
  }
  return tau_h;
}

std::optional<LearntTimeConstant> combine(std::vector<double> hours) {
  if (hours.empty()) return std::nullopt;
  std::sort(hours.begin(), hours.end());
  const double median = percentile(hours, 0.5);
  const double factor = hours.size() < enough_spells
                            ? size_factor
                            : std::max(learnt_factor_min, percentile(hours, 0.84) / median);
  return LearntTimeConstant{median, factor, hours.size()};
}

}  // namespace ebbwatch
