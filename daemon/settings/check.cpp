#include "settings/check.h"

namespace ebbwatch {
namespace {

void check_that_something_is_watched(const Settings& settings, std::vector<Finding>& out) {
  if (settings.watcher.name.empty()) {
    out.push_back({"watcher.name", "missing", "this key is needed", ""});
  }
  if (settings.sites.empty()) {
    out.push_back({"sites", "no site", "at least one site with a tank and a controller", ""});
  }
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const SiteSettings& site = settings.sites[s];
    const std::string tanks = indexed("sites", s) + ".tanks";
    if (site.tanks.empty()) out.push_back({tanks, "no tank", "at least one tank", ""});
    for (std::size_t t = 0; t < site.tanks.size(); ++t) {
      if (!site.tanks[t].controllers.empty()) continue;
      out.push_back(
          {indexed(tanks, t) + ".controllers", "no controller", "at least one controller", ""});
    }
  }
}

}  // namespace

void note(const std::optional<FormFault>& fault, const std::string& path,
          std::vector<Finding>& out) {
  if (fault) out.push_back({path, fault->found, fault->allowed, fault->hint});
}

std::string indexed(const std::string& list, std::size_t index) {
  return list + "[" + std::to_string(index) + "]";
}

std::vector<Finding> check(const Settings& settings, const DetectionOverrides& top,
                           const PlaceText& place_text) {
  std::vector<Finding> findings;
  check_that_something_is_watched(settings, findings);
  check_names(settings, place_text, findings);
  check_detection(settings, top, findings);
  check_tanks(settings, findings);
  check_links(settings, findings);
  check_notifiers(settings, findings);
  check_people(settings, findings);
  return findings;
}

}  // namespace ebbwatch
