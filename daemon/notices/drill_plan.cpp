#include "notices/drill_plan.h"

#include <algorithm>

#include "settings/plan.h"

namespace ebbwatch {
namespace {

constexpr Span due_for = Span::of_h(1);
constexpr Span half_a_day = Span::of_h(12);  // So that a month of days stays at its time of day.

bool names(const CallListSettings& list, const std::string& keyholder) {
  return std::any_of(list.steps.begin(), list.steps.end(), [&](const CallStep& step) {
    return std::find(step.tell.begin(), step.tell.end(), keyholder) != step.tell.end();
  });
}

// Lists through which this person is told; those of all persons when there is none.
std::vector<std::string> lists_with(const Settings& settings, const std::string& keyholder) {
  std::vector<std::string> lists;
  for (const CallListSettings& list : settings.call_lists) {
    if (keyholder.empty() || names(list, keyholder)) lists.push_back(list.id);
  }
  return lists;
}

Error which_site(const Settings& settings) {
  std::string all;
  for (const SiteSettings& site : settings.sites) {
    if (site.call_list) all += (all.empty() ? "" : ", ") + site.id;
  }
  if (all.empty()) return {Errc::not_found, "No site has a call list, so there is nobody to tell."};
  return {Errc::bad_input, "Say where: --site ID, one of " + all + "; or whom: --to KEYHOLDER."};
}

Result<SiteSettings> choose_site(const Settings& settings, const DrillWish& wish,
                                 const std::vector<std::string>& lists) {
  if (!wish.site.empty()) {
    const SiteSettings* found = site_of(settings, wish.site);
    if (found != nullptr) return *found;
    return Error{Errc::not_found,
                 "No site is called '" + wish.site + "'. 'ebbwatch status' lists them."};
  }
  std::vector<const SiteSettings*> fitting;
  for (const SiteSettings& site : settings.sites) {
    const bool fits =
        site.call_list && std::find(lists.begin(), lists.end(), *site.call_list) != lists.end();
    if (fits) fitting.push_back(&site);
  }
  const bool clear = fitting.size() == 1 || (!wish.to.empty() && !fitting.empty());
  if (!clear) return which_site(settings);
  return *fitting.front();
}

}  // namespace

Result<DrillPlan> plan_drill(const Settings& settings, const DrillWish& wish) {
  const auto is_him = [&](const KeyholderSettings& one) { return one.id == wish.to; };
  const auto& people = settings.keyholders;
  if (!wish.to.empty() && std::none_of(people.begin(), people.end(), is_him)) {
    return Error{Errc::not_found,
                 "No keyholder is called '" + wish.to + "'; give the id from the configuration."};
  }
  std::vector<std::string> lists = lists_with(settings, wish.to);
  Result<SiteSettings> site = choose_site(settings, wish, lists);
  if (!site) return site.error();
  DrillPlan plan{std::move(site.value()), {}};
  if (wish.to.empty()) lists = {plan.site.call_list.value_or("")};
  plan.calls = all_calls(settings, lists);
  if (!wish.to.empty()) {
    std::erase_if(plan.calls, [&](const Call& call) { return call.keyholder != wish.to; });
  }
  if (!plan.calls.empty()) return plan;
  return Error{Errc::not_found, wish.to.empty() ? "The site " + plan.site.id + " has no call list."
                                                : "'" + wish.to + "' is on no call list."};
}

DrillPlan plan_drill(const Settings& settings, const CallListSettings& list) {
  DrillPlan plan;
  plan.site.id = plan.site.name = settings.watcher.name;
  for (const SiteSettings& site : settings.sites) {
    if (site.call_list != list.id) continue;
    plan.site = site;
    break;
  }
  plan.calls = all_calls(settings, {list.id});
  return plan;
}

bool drill_is_due(const DrillSettings& drills, std::optional<WallTime> last, WallTime since,
                  const TimeZone& zone, WallTime now) {
  if (!drills.every) return false;
  if (!drills.at) return now >= (last ? *last + *drills.every : since);
  const WallTime begin = last ? *last + *drills.every - half_a_day : since;
  const WallTime turn = zone.next(*drills.at, now - due_for);
  return turn <= now && turn >= begin;
}

}  // namespace ebbwatch
