#include "app/people.h"

#include <algorithm>

namespace ebbwatch {
namespace {

bool same_letters(const std::string& a, const std::string& b) {
  const auto low = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [&](char x, char y) { return low(x) == low(y); });
}

bool tells(const CallListSettings& list, const std::string& keyholder) {
  return std::any_of(list.steps.begin(), list.steps.end(), [&](const CallStep& step) {
    return std::find(step.tell.begin(), step.tell.end(), keyholder) != step.tell.end();
  });
}

bool lies_in(const SiteSettings& site, const std::string& scope, const std::string& id) {
  return std::any_of(site.tanks.begin(), site.tanks.end(), [&](const TankSettings& tank) {
    if (scope == "tank") return tank.id == id;
    return scope == "controller" &&
           std::any_of(tank.controllers.begin(), tank.controllers.end(),
                       [&](const ControllerSettings& one) { return one.id == id; });
  });
}

}  // namespace

std::string keyholder_called(const Settings& settings, const std::string& by) {
  for (const auto& one : settings.keyholders) {
    if (same_letters(one.id, by) || same_letters(one.name, by)) return one.id;
  }
  return {};
}

std::string person_name(const Settings& settings, const std::string& keyholder) {
  for (const auto& one : settings.keyholders) {
    if (one.id == keyholder && !one.name.empty()) return one.name;
  }
  return keyholder;
}

std::vector<std::string> sites_of_keyholder(const Settings& settings,
                                            const std::string& keyholder) {
  std::vector<std::string> sites;
  for (const auto& site : settings.sites) {
    const bool own = std::any_of(
        settings.call_lists.begin(), settings.call_lists.end(), [&](const CallListSettings& list) {
          return site.call_list && *site.call_list == list.id && tells(list, keyholder);
        });
    if (own) sites.push_back(site.id);
  }
  return sites;
}

std::vector<std::string> sites_of_subject(const Settings& settings, const std::string& scope,
                                          const std::string& id) {
  std::vector<std::string> sites;
  for (const auto& site : settings.sites) {
    const bool whole = (scope == "site" && site.id == id) || (scope == "area" && site.area == id) ||
                       (scope == "provider" && site.provider == id);
    if (whole || lies_in(site, scope, id)) sites.push_back(site.id);
  }
  return sites;
}

std::string name_of_subject(const Settings& settings, const std::string& scope,
                            const std::string& id) {
  for (const auto& site : settings.sites) {
    if (scope == "site" && site.id == id) return site.name;
    for (const auto& tank : site.tanks) {
      if (scope == "tank" && tank.id == id) return tank.name;
      for (const auto& controller : tank.controllers) {
        if (scope == "controller" && controller.id == id) return controller.name;
      }
    }
  }
  return scope == "area" || scope == "provider" ? scope + " " + id : id;
}

}  // namespace ebbwatch
