#include <map>
#include <optional>

#include "settings/check.h"
#include "settings/plan.h"
#include "settings/reader.h"

namespace ebbwatch {
namespace {

// The identifiers of one kind, in the order of the file.
class Names {
 public:
  Names(std::string kind, std::string list, const PlaceText& place_text, std::vector<Finding>& out)
      : kind_(std::move(kind)), list_(std::move(list)), place_text_(place_text), out_(out) {}

  void add(const std::string& name, const std::string& path) {
    if (name.empty()) return;
    const auto [first, is_new] = paths_.emplace(name, path);
    if (is_new) return ordered_.push_back(name);
    const std::string place = place_text_(first->second);
    out_.push_back({path,
                    "\"" + name + "\" is already a " + kind_ +
                        (place.empty() ? " at " + first->second : ", see " + place),
                    "each " + kind_ + " once in all files", "", ""});
  }
  void refer(const std::string& name, const std::string& path) const {
    if (name.empty() || paths_.contains(name)) return;
    out_.push_back({path, "there is no " + kind_ + " \"" + name + "\"",
                    ordered_.empty() ? "none is defined" : "one of " + known(),
                    did_you_mean(name, ordered_), list_});
  }

 private:
  std::string known() const {
    constexpr std::size_t listed_max = 12;
    if (ordered_.size() <= listed_max) return join(ordered_);
    const std::vector<std::string> some(ordered_.begin(), ordered_.begin() + listed_max);
    return join(some) + ", … (" + std::to_string(ordered_.size()) + " in all)";
  }

  std::string kind_, list_;
  const PlaceText& place_text_;
  std::vector<Finding>& out_;
  std::map<std::string, std::string> paths_;
  std::vector<std::string> ordered_;
};

template <class Item>
void add_all(Names& names, const std::vector<Item>& items, const std::string& list) {
  for (std::size_t i = 0; i < items.size(); ++i) names.add(items[i].id, indexed(list, i) + ".id");
}

void refer_all(const Names& names, const std::vector<std::string>& given, const std::string& list) {
  for (std::size_t i = 0; i < given.size(); ++i) names.refer(given[i], indexed(list, i));
}

void check_tanks_and_controllers(const Settings& settings, const PlaceText& place_text,
                                 std::vector<Finding>& out) {
  Names tanks("tank", "", place_text, out), controllers("controller", "", place_text, out);
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const std::string tank_list = indexed("sites", s) + ".tanks";
    add_all(tanks, settings.sites[s].tanks, tank_list);
    for (std::size_t t = 0; t < settings.sites[s].tanks.size(); ++t) {
      add_all(controllers, settings.sites[s].tanks[t].controllers,
              indexed(tank_list, t) + ".controllers");
    }
  }
  for (std::size_t i = 0; i < settings.witnesses.size(); ++i) {
    const std::string& name = settings.witnesses[i].name;
    const std::string path = indexed("witnesses", i) + ".name";
    if (name.empty()) continue;
    tanks.add(watched_id(name), path);
    controllers.add(watched_id(name), path);
  }
}

void check_call_lists(const Settings& settings, const PlaceText& place_text,
                      std::vector<Finding>& out) {
  Names call_lists("call list", "call_lists", place_text, out);
  Names keyholders("keyholder", "keyholders", place_text, out);
  Names notifiers("notifier", "notifiers", place_text, out);
  Names hours("set of hours", "hours", place_text, out);
  add_all(hours, settings.hours, "hours");
  add_all(call_lists, settings.call_lists, "call_lists");
  add_all(keyholders, settings.keyholders, "keyholders");
  add_all(notifiers, settings.notifiers, "notifiers");
  if (settings.watcher.call_list) {
    call_lists.refer(*settings.watcher.call_list, "watcher.call_list");
  }
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    const auto& call_list = settings.sites[s].call_list;
    if (call_list) call_lists.refer(*call_list, indexed("sites", s) + ".call_list");
  }
  for (std::size_t w = 0; w < settings.witnesses.size(); ++w) {
    const auto& call_list = settings.witnesses[w].call_list;
    if (call_list) call_lists.refer(*call_list, indexed("witnesses", w) + ".call_list");
  }
  for (std::size_t k = 0; k < settings.keyholders.size(); ++k) {
    refer_all(hours, settings.keyholders[k].hours, indexed("keyholders", k) + ".hours");
  }
  for (std::size_t c = 0; c < settings.call_lists.size(); ++c) {
    const CallListSettings& list = settings.call_lists[c];
    refer_all(hours, list.hours, indexed("call_lists", c) + ".hours");
    if (list.otherwise) {
      call_lists.refer(*list.otherwise, indexed("call_lists", c) + ".otherwise");
    }
    for (std::size_t i = 0; i < settings.call_lists[c].steps.size(); ++i) {
      const CallStep& step = settings.call_lists[c].steps[i];
      const std::string path = indexed(indexed("call_lists", c) + ".steps", i);
      refer_all(keyholders, step.tell, path + ".tell");
      refer_all(notifiers, step.by, path + ".by");
    }
  }
}

}  // namespace

void check_names(const Settings& settings, const PlaceText& place_text, std::vector<Finding>& out) {
  Names sites("site", "sites", place_text, out);
  Names witnesses("watcher", "", place_text, out), references("reference", "", place_text, out);
  add_all(sites, settings.sites, "sites");
  for (std::size_t i = 0; i < settings.witnesses.size(); ++i) {
    const std::string& name = settings.witnesses[i].name;
    if (!name.empty()) sites.add(watched_id(name), indexed("witnesses", i) + ".name");
  }
  if (settings.watcher.site) sites.refer(*settings.watcher.site, "watcher.site");
  witnesses.add(settings.watcher.name, "watcher.name");
  for (std::size_t i = 0; i < settings.witnesses.size(); ++i) {
    witnesses.add(settings.witnesses[i].name, indexed("witnesses", i) + ".name");
  }
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    refer_all(witnesses, settings.sites[s].tells_first, indexed("sites", s) + ".tells_first");
  }
  for (std::size_t i = 0; i < settings.watcher.uplink_references.size(); ++i) {
    references.add(settings.watcher.uplink_references[i].name,
                   indexed("watcher.uplink_references", i) + ".name");
  }
  check_tanks_and_controllers(settings, place_text, out);
  check_call_lists(settings, place_text, out);
}

}  // namespace ebbwatch
