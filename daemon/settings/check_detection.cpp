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

void check_mains_report(const DetectionOverrides& given, const Detection& effective,
                        const std::string& level, std::vector<Finding>& out) {
  const MainsReport& rule = effective.mains_report;
  if (!given.mains_at_least && !given.mains_at_most) return;
  if (rule.at_least <= rule.at_most) return;
  out.push_back({level + ".mains_report." + (given.mains_at_most ? "at_most" : "at_least"),
                 "at_most " + duration_text(rule.at_most) + " is below at_least " +
                     duration_text(rule.at_least),
                 "at_least up to at_most", ""});
}

// A wish and delays of the same level contradict each other; a wish needs both of its halves.
void check_wish(const DetectionOverrides& given, const DetectionWish& effective,
                const std::string& level, std::vector<Finding>& out) {
  if (!given.has_wish()) return;
  if (given.has_delays()) {
    const std::string wish = given.tell_within ? "tell_within" : "false_alarms_at_most";
    const std::string delay = given.on_delay ? "on_delay" : "min_missed";
    out.push_back({level + "." + wish, wish + " and " + delay + " together",
                   "a wish (tell_within, false_alarms_at_most) or delays (on_delay, min_missed)",
                   "Remove one of them; delays are worked out from a wish."});
    return;
  }
  if (effective.tell_within && effective.false_alarms_at_most) return;
  // Noted at the key that is missing, so that one that could not be read is not reported twice.
  const bool lacks_time = !effective.tell_within;
  out.push_back({level + (lacks_time ? ".tell_within" : ".false_alarms_at_most"),
                 lacks_time ? "missing beside false_alarms_at_most" : "missing beside tell_within",
                 "both, here or on a level above",
                 lacks_time ? "Add tell_within: 10min." : "Add false_alarms_at_most: 1 per year."});
}

/// What holds at a level, all levels above included.
struct Level {
  Detection detection;
  DetectionWish wish;
};

Level check_level(const Level& above, const DetectionOverrides& given, const std::string& path,
                  std::vector<Finding>& out) {
  const Level here{apply(above.detection, given), apply(above.wish, given)};
  check_steadiness(given, here.detection, path, out);
  check_mains_report(given, here.detection, path, out);
  check_wish(given, here.wish, path, out);
  return here;
}

void check_tank(const TankSettings& tank, const Level& above, const std::string& path,
                std::vector<Finding>& out) {
  const Level effective = check_level(above, tank.detection, path + ".detection", out);
  check_count(tank.detection.quorum, tank.controllers.size(), " controllers of the tank",
              path + ".detection.quorum", out);
  for (std::size_t c = 0; c < tank.controllers.size(); ++c) {
    check_level(effective, tank.controllers[c].detection,
                indexed(path + ".controllers", c) + ".detection", out);
  }
}

}  // namespace

void check_detection(const Settings& settings, const DetectionOverrides& top,
                     std::vector<Finding>& out) {
  const Level file = check_level({}, top, "detection", out);
  check_count(top.witness_quorum, settings.witnesses.size() + 1, " watchers, this one included",
              "detection.witness_quorum", out);
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const SiteSettings& site = settings.sites[s];
    const std::string path = indexed("sites", s);
    const Level effective = check_level(file, site.detection, path + ".detection", out);
    check_count(site.detection.site_quorum, site.tanks.size(), " tanks of the site",
                path + ".detection.site_quorum", out);
    for (std::size_t t = 0; t < site.tanks.size(); ++t) {
      check_tank(site.tanks[t], effective, indexed(path + ".tanks", t), out);
    }
  }
}

}  // namespace ebbwatch
