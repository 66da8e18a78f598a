#include "report/collect.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <map>
#include <sstream>

namespace ebbwatch::report {
namespace {

namespace json = boost::json;

constexpr Span look_back = Span::of_days(100);

/// What a stored decision (FORMATS section 5) adds to its row.
struct Told {
  WallTime since;
  std::string cause;
  double confidence = 0;
};

Told told_of(const DecisionRow& row) {
  Told told{row.at, "undetermined", 0};
  boost::system::error_code error;
  const auto value = json::parse(row.json, error);
  const auto* object = error ? nullptr : value.if_object();
  if (object == nullptr) return told;
  if (const auto* cause = object->if_contains("cause"); cause && cause->is_string()) {
    told.cause = std::string(cause->get_string());
  }
  if (const auto* sure = object->if_contains("confidence"); sure && sure->is_number()) {
    told.confidence = sure->to_number<double>();
  }
  if (const auto* since = object->if_contains("since_s"); since && since->is_number()) {
    told.since = WallTime{Span::of_seconds(since->to_number<double>()).us};
  }
  return told;
}

/// Names and belongings of subjects, by what the configuration says now.
class Directory {
 public:
  explicit Directory(const Settings& settings) : settings_(settings) {}

  std::string name(const std::string& scope, const std::string& id) const {
    for (const auto& site : settings_.sites) {
      if (scope == "site" && site.id == id) return site.name;
      for (const auto& tank : site.tanks) {
        if (scope == "tank" && tank.id == id) return tank.name;
        for (const auto& controller : tank.controllers) {
          if (scope == "controller" && controller.id == id) return controller.name;
        }
      }
    }
    return id;
  }
  /// The tanks that are lost when the subject is: none of a controller, whose tank has others.
  std::vector<std::string> tanks(const std::string& scope, const std::string& id) const {
    std::vector<std::string> all;
    for (const auto& site : settings_.sites) {
      const bool whole = (scope == "site" && site.id == id) ||
                         (scope == "area" && site.area.value_or("") == id) ||
                         (scope == "provider" && site.provider.value_or("") == id);
      for (const auto& tank : site.tanks) {
        if (whole || (scope == "tank" && tank.id == id)) all.push_back(tank.id);
      }
    }
    return all;
  }
  /// Whether a subject is, or lies in, or holds the site.
  bool touches(const std::string& scope, const std::string& id, const std::string& site_id) const {
    for (const auto& site : settings_.sites) {
      if (site.id != site_id) continue;
      if ((scope == "site" && site.id == id) || (scope == "area" && site.area.value_or("") == id) ||
          (scope == "provider" && site.provider.value_or("") == id)) {
        return true;
      }
      for (const auto& tank : site.tanks) {
        if (scope == "tank" && tank.id == id) return true;
        for (const auto& controller : tank.controllers) {
          if (scope == "controller" && controller.id == id) return true;
        }
      }
    }
    return false;
  }
  std::string person(const std::string& id) const {
    for (const auto& keyholder : settings_.keyholders) {
      if (keyholder.id == id && !keyholder.name.empty()) return keyholder.name;
    }
    return id;
  }

 private:
  const Settings& settings_;
};

class Collector {
 public:
  Collector(Store& store, const Settings& settings, const Wanted& wanted)
      : store_(store), settings_(settings), wanted_(wanted), directory_(settings) {}
  Result<Record> collect();

 private:
  void take(const DecisionRow& row);
  Result<void> finish_outages();
  Result<void> add_notices(Outage& outage, std::uint64_t id);
  Result<void> add_tanks();
  Result<std::optional<WallTime>> watched_from(const TankSettings& tank);
  Result<void> add_drills();
  Result<void> add_last_gap();
  bool wanted(const std::string& scope, const std::string& subject) const {
    return wanted_.site.empty() || directory_.touches(scope, subject, wanted_.site);
  }

  Store& store_;
  const Settings& settings_;
  const Wanted& wanted_;
  Directory directory_;
  Record record_;
  std::map<std::uint64_t, Outage> outages_;
};

void Collector::take(const DecisionRow& row) {
  const Told told = told_of(row);
  if (row.kind == "watch_gap") {
    if (row.at > wanted_.from && told.since < wanted_.until)
      record_.gaps.push_back({told.since, row.at});
    return;
  }
  // People look back at an outage after its month, too.
  if (row.kind == "marked_false" || row.kind == "marked_true") {
    const auto about = outages_.find(row.outage);
    if (about != outages_.end()) about->second.marked_false = row.kind == "marked_false";
    return;
  }
  if (row.at >= wanted_.until) return;
  if (row.kind == "unsteady" && row.at >= wanted_.from && wanted(row.scope, row.subject)) {
    record_.unsteady.push_back(directory_.name(row.scope, row.subject));
  }
  if (row.outage == 0) return;
  const bool known = outages_.count(row.outage) != 0;
  if (row.kind != "loss" && !known) return;
  Outage& outage = outages_[row.outage];
  if (!known) {
    outage.since = told.since;
    outage.decided_at = row.at;
  }
  if (row.kind == "loss" || row.kind == "cause_revised") {
    outage.scope = row.scope;
    outage.subject = row.subject;
  }
  if (row.kind == "loss" || row.kind == "cause_revised" || row.kind == "recovery") {
    outage.cause = told.cause;
    outage.confidence = told.confidence;
  }
  if (row.kind == "recovery") outage.returned = told.since;
}

Result<void> Collector::add_notices(Outage& outage, std::uint64_t id) {
  const auto notices = store_.notices_of(id);
  if (!notices) return notices.error();
  for (const NoticeRow& row : notices.value()) {
    outage.notices.push_back({row.kind, directory_.person(row.keyholder), row.notifier, row.state,
                              row.created_at, row.ended_at});
  }
  const auto call = store_.call_of(id);
  if (!call) return call.error();
  if (call.value() && call.value()->acknowledged_at) {
    outage.acknowledged_at = call.value()->acknowledged_at;
    outage.acknowledged_by = directory_.person(call.value()->acknowledged_by);
  }
  return {};
}

Result<void> Collector::finish_outages() {
  for (auto& [id, outage] : outages_) {
    if (outage.returned && *outage.returned <= wanted_.from) continue;
    if (!wanted(outage.scope, outage.subject)) continue;
    outage.id = settings_.watcher.name + "-" + std::to_string(id);
    outage.name = directory_.name(outage.scope, outage.subject);
    outage.tanks = directory_.tanks(outage.scope, outage.subject);
    if (const auto added = add_notices(outage, id); !added) return added;
    record_.outages.push_back(std::move(outage));
  }
  std::stable_sort(record_.outages.begin(), record_.outages.end(),
                   [](const Outage& a, const Outage& b) { return a.since < b.since; });
  return {};
}

Result<std::optional<WallTime>> Collector::watched_from(const TankSettings& tank) {
  std::optional<WallTime> first;
  if (!wanted_.first_heard) return std::optional<WallTime>(wanted_.from);
  for (const auto& controller : tank.controllers) {
    const auto before = store_.heard_before(controller.id, wanted_.from);
    if (!before) return before.error();
    if (before.value()) return std::optional<WallTime>(wanted_.from);
    HistoryQuery query;
    query.subject = controller.id;
    query.from = wanted_.from;
    query.until = wanted_.until;
    const auto note = [&first](WallTime at) {
      if (!first || at < *first) first = at;
      return false;
    };
    const auto read = store_.for_each_kept(
        query, [&](const HourRow& hour) { return note(hour.first.value_or(hour.at)); },
        [&](const HeardRow& row) {
          const auto* heard = std::get_if<CheckInRow>(&row);
          return heard == nullptr || note(heard->at);
        });
    if (!read) return read.error();
  }
  return first;
}

Result<void> Collector::add_tanks() {
  for (const auto& site : settings_.sites) {
    if (!wanted_.site.empty() && site.id != wanted_.site) continue;
    for (const auto& tank : site.tanks) {
      const auto from = watched_from(tank);
      if (!from) return from.error();
      record_.tanks.push_back({tank.id, tank.name, site.name, from.value()});
    }
  }
  return {};
}

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

Result<void> Collector::add_drills() {
  HistoryQuery query;
  query.from = wanted_.from;
  query.until = wanted_.until;
  const auto rows = store_.drills(query);
  if (!rows) return rows.error();
  for (const DrillRow& row : rows.value()) {
    if (!wanted_.site.empty() && row.site != wanted_.site) continue;
    Drill drill{row.started_at, directory_.name("site", row.site), row.by, 0, 0, {}};
    const auto answered = words_of(row.answered);
    for (const std::string& id : words_of(row.told)) {
      ++drill.told;
      if (std::find(answered.begin(), answered.end(), id) != answered.end()) {
        ++drill.answered;
      } else {
        drill.silent.push_back(directory_.person(id));
      }
    }
    record_.drills.push_back(std::move(drill));
  }
  return {};
}

/// Since a stop in good order nobody has watched; the next start will write that gap down.
Result<void> Collector::add_last_gap() {
  const auto state = store_.load();
  if (!state) return state.error();
  const auto& stopped_at = state.value().last_written;
  if (state.value().stopped_in_good_order && stopped_at && *stopped_at < wanted_.until) {
    record_.gaps.push_back({*stopped_at, wanted_.until});
  }
  return {};
}

Result<Record> Collector::collect() {
  record_.watcher = settings_.watcher.name;
  record_.title = wanted_.title;
  record_.from = wanted_.from;
  record_.until = wanted_.until;
  HistoryQuery query;
  query.from = wanted_.from - look_back;
  query.until = wanted_.until + look_back;  // A gap is decided on when it is over.
  const auto rows = store_.decisions(query);
  if (!rows) return rows.error();
  for (const DecisionRow& row : rows.value()) take(row);
  auto done = finish_outages();
  if (done.ok()) done = add_tanks();
  if (done.ok()) done = add_drills();
  if (done.ok()) done = add_last_gap();
  if (!done) return done.error();
  return std::move(record_);
}

}  // namespace

Result<Record> collect(Store& store, const Settings& settings, const Wanted& wanted) {
  return Collector(store, settings, wanted).collect();
}

}  // namespace ebbwatch::report
