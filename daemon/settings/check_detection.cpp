#include <cmath>
#include <cstdio>

#include "settings/check.h"
#include "text/duration.h"

namespace ebbwatch {
namespace {

std::string whole_text(double value) {
  char text[64];
  std::snprintf(text, sizeof text, "%.0f", value);
  return text;
}

bool touches_steadiness(const DetectionOverrides& given) {
  return given.half_life || given.longest || given.penalty || given.suppress || given.reuse;
}

// Checks one level where it says something; `effective` has the levels above applied.
void check_steadiness(const DetectionOverrides& given, const Detection& effective,
                      const std::string& level, std::vector<Finding>& out) {
  if (!touches_steadiness(given)) return;
  const Steadiness& steadiness = effective.steadiness;
  const std::string path = level + ".steadiness.suppress";
  if (steadiness.reuse >= steadiness.suppress) {
    out.push_back({path,
                   "suppress " + whole_text(steadiness.suppress) + " is not above reuse " +
                       whole_text(steadiness.reuse),
                   "suppress above reuse", ""});
    return;
  }
  // RFC 2439 §4.5: the figure of merit is cut here so that nothing is held back for longer than
  // `longest`; a limit above it would never be reached.
  const double ceiling =
      steadiness.reuse * std::exp2(steadiness.longest.seconds() / steadiness.half_life.seconds());
  if (steadiness.suppress <= ceiling) return;
  out.push_back({path,
                 "suppress " + whole_text(steadiness.suppress) +
                     " can never be reached: the figure of merit ends at " +
                     whole_text(std::floor(ceiling)),
                 "at most reuse × 2^(longest / half_life)",
                 "Lower suppress, or make longest (" + duration_text(steadiness.longest) +
                     ") longer against half_life (" + duration_text(steadiness.half_life) + ")."});
}

void check_count(const std::optional<Quorum>& quorum, std::size_t members, const char* of,
                 const std::string& path, std::vector<Finding>& out) {
  if (!quorum || quorum->kind != Quorum::Kind::count || quorum->number <= members) return;
  out.push_back({path, std::to_string(quorum->number) + " of " + std::to_string(members) + of,
                 "at most " + std::to_string(members), "all says the same and stays right."});
}

void check_tank(const TankSettings& tank, const Detection& above, const std::string& path,
                std::vector<Finding>& out) {
  const Detection effective = apply(above, tank.detection);
  check_steadiness(tank.detection, effective, path + ".detection", out);
  check_count(tank.detection.quorum, tank.controllers.size(), " controllers of the tank",
              path + ".detection.quorum", out);
  for (std::size_t c = 0; c < tank.controllers.size(); ++c) {
    const DetectionOverrides& given = tank.controllers[c].detection;
    check_steadiness(given, apply(effective, given),
                     indexed(path + ".controllers", c) + ".detection", out);
  }
}

}  // namespace

void check_detection(const Settings& settings, const DetectionOverrides& top,
                     std::vector<Finding>& out) {
  check_steadiness(top, settings.detection, "detection", out);
  check_count(top.witness_quorum, settings.witnesses.size() + 1, " watchers, this one included",
              "detection.witness_quorum", out);
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const SiteSettings& site = settings.sites[s];
    const std::string path = indexed("sites", s);
    const Detection effective = apply(settings.detection, site.detection);
    check_steadiness(site.detection, effective, path + ".detection", out);
    check_count(site.detection.site_quorum, site.tanks.size(), " tanks of the site",
                path + ".detection.site_quorum", out);
    for (std::size_t t = 0; t < site.tanks.size(); ++t) {
      check_tank(site.tanks[t], effective, indexed(path + ".tanks", t), out);
    }
  }
}

}  // namespace ebbwatch
