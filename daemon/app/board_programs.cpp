#include "app/board_programs.h"

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <map>

#include "app/drill_book.h"
#include "app/people.h"
#include "app/stored_decision.h"
#include "core/wording.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

enum class Part { site, tank, controller };

/// What the settings add to a controller of `status`.
void add_settings(json::object& out, const Settings& settings) {
  const std::string id(out.at("id").get_string());
  for (const auto& site : settings.sites) {
    for (const auto& tank : site.tanks) {
      for (const auto& one : tank.controllers) {
        if (one.id != id) continue;
        out["supply"] = one.supply == Supply::mains ? "mains" : "battery_backed";
        out["interval_s"] = one.interval.seconds();
      }
    }
  }
}

/// All subjects of a level, as `ebbwatch status --json` has them, each with what it belongs to.
json::array subjects(const BoardInput& in, Part level) {
  json::array found;
  json::object status = status_json(in.status);
  for (auto& site_value : status.at("sites").get_array()) {
    auto& site = site_value.get_object();
    if (level == Part::site) {
      found.push_back(site);
      continue;
    }
    for (auto& tank_value : site.at("tanks").get_array()) {
      auto& tank = tank_value.get_object();
      tank["site"] = site.at("id");
      if (level == Part::tank) {
        found.push_back(tank);
        continue;
      }
      for (auto& controller_value : tank.at("controllers").get_array()) {
        auto& controller = controller_value.get_object();
        controller["tank"] = tank.at("id");
        controller["site"] = site.at("id");
        add_settings(controller, in.status.settings);
        found.push_back(controller);
      }
    }
  }
  return found;
}

json::object heading(const BoardInput& in) {
  return {{"watcher", in.status.settings.watcher.name},
          {"at", to_rfc3339(in.status.clock.wall_now())}};
}

std::string text(const json::object& object) {
  return json::serialize(object) + "\n";
}

std::string all_of(const BoardInput& in, Part level, const char* key) {
  json::object out = heading(in);
  out[key] = subjects(in, level);
  return text(out);
}

std::optional<std::string> one_of(const BoardInput& in, Part level, const std::string& id) {
  for (const auto& subject : subjects(in, level)) {
    if (subject.at("id").as_string() == id) return text(subject.as_object());
  }
  return std::nullopt;
}

json::value or_null(const std::optional<WallTime>& at) {
  return at ? json::value(to_rfc3339(*at)) : json::value(nullptr);
}

json::value or_null(const std::string& given) {
  return given.empty() ? json::value(nullptr) : json::value(given);
}

json::object outage_object(const report::Outage& outage) {
  return {{"outage", outage.id},
          {"scope", outage.scope},
          {"subject", outage.subject},
          {"name", outage.name},
          {"since", to_rfc3339(outage.since)},
          {"decided_at", to_rfc3339(outage.decided_at)},
          {"returned_at", or_null(outage.returned)},
          {"cause", outage.cause},
          {"confidence", outage.confidence},
          {"tanks", json::array(outage.tanks.begin(), outage.tanks.end())},
          {"acknowledged_at", or_null(outage.acknowledged_at)},
          {"acknowledged_by", or_null(outage.acknowledged_by)},
          {"notices", outage.notices.size()},
          {"marked_false", outage.marked_false}};
}

json::array notice_objects(const OutageRows& rows, const Settings& settings) {
  json::array out;
  for (const auto& row : rows.notices) {
    out.push_back(json::object{{"notice", row.notice},
                               {"kind", row.kind},
                               {"to", person_name(settings, row.keyholder)},
                               {"by", row.notifier},
                               {"state", row.state},
                               {"attempts", row.attempts},
                               {"created_at", to_rfc3339(row.created_at)},
                               {"ended_at", or_null(row.ended_at)}});
  }
  return out;
}

MetricFamily family(const char* name, const char* help, const char* unit = "") {
  return {name, unit, help, {}};
}

MetricFamily single(const char* name, const char* help, double value) {
  auto out = family(name, help);
  out.points.push_back({{}, value});
  return out;
}

template <class Index, class Items>
MetricFamily by_contact(const char* name, const char* help, const Watch& watch, const Items& items,
                        const std::vector<std::string>& all) {
  std::map<std::string, double> counts;
  for (const auto& one : all) counts[one] = 0;
  for (std::uint32_t i = 0; i < items.size(); ++i) ++counts[word(watch.contact(Index{i}))];
  auto out = family(name, help);
  for (const auto& [contact, count] : counts) out.points.push_back({{{"contact", contact}}, count});
  return out;
}

void add_controllers(std::vector<MetricFamily>& out, const StatusInput& in) {
  auto heard =
      family("ebbwatch_controller_last_heard_seconds",
             "When the controller was last heard, in seconds since the Unix epoch.", "seconds");
  const auto& controllers = in.watch.plan().controllers;
  for (std::uint32_t i = 0; i < controllers.size(); ++i) {
    const Instant at = in.watch.last_heard(ControllerIndex{i});
    if (at.is_never()) continue;
    heard.points.push_back(
        {{{"controller", controllers[i].id}}, static_cast<double>(in.clock.to_wall(at).us) / 1e6});
  }
  out.push_back(std::move(heard));
}

void add_tanks(std::vector<MetricFamily>& out, const StatusInput& in) {
  auto lost = family("ebbwatch_tank_lost", "1 while the tank is lost.");
  const auto& plan = in.watch.plan();
  for (std::uint32_t t = 0; t < plan.tanks.size(); ++t) {
    const bool is = in.watch.contact(TankIndex{t}) == GroupContact::lost;
    lost.points.push_back(
        {{{"tank", plan.tanks[t].id}, {"site", plan.sites[plan.tanks[t].site.value].id}},
         is ? 1.0 : 0.0});
  }
  out.push_back(std::move(lost));
}

void add_notifiers(std::vector<MetricFamily>& out, const StatusInput& in) {
  auto failing = family("ebbwatch_notifier_failing", "1 while the notifier does not deliver.");
  auto waiting = family("ebbwatch_notices_waiting", "Notices that wait to be delivered.");
  for (const auto& [id, health] : in.notifiers) {
    const bool bad = health.failing || health.check_failing || health.way_failing;
    failing.points.push_back({{{"notifier", id}}, bad ? 1.0 : 0.0});
    waiting.points.push_back({{{"notifier", id}}, static_cast<double>(health.waiting)});
  }
  out.push_back(std::move(failing));
  out.push_back(std::move(waiting));
}

}  // namespace

std::string sites_json(const BoardInput& in) {
  return all_of(in, Part::site, "sites");
}
std::string tanks_json(const BoardInput& in) {
  return all_of(in, Part::tank, "tanks");
}
std::string controllers_json(const BoardInput& in) {
  return all_of(in, Part::controller, "controllers");
}
std::optional<std::string> site_json(const BoardInput& in, const std::string& id) {
  return one_of(in, Part::site, id);
}
std::optional<std::string> tank_json(const BoardInput& in, const std::string& id) {
  return one_of(in, Part::tank, id);
}
std::optional<std::string> controller_json(const BoardInput& in, const std::string& id) {
  return one_of(in, Part::controller, id);
}

std::string outages_json(const BoardInput& in, const report::Record& record) {
  json::object out = heading(in);
  out["from"] = to_rfc3339(record.from);
  out["until"] = to_rfc3339(record.until);
  json::array outages;
  for (const auto& outage : record.outages) outages.push_back(outage_object(outage));
  out["outages"] = std::move(outages);
  return text(out);
}

std::optional<std::string> outage_json(const BoardInput& in, OutageId id, const OutageRows& rows) {
  json::array lines;
  bool marked_false = false;
  for (const auto& row : rows.decisions) {
    boost::system::error_code error;
    auto line = json::parse(row.json, error);
    if (!error && line.is_object()) lines.push_back(std::move(line));
    if (row.kind == false_kind || row.kind == true_kind) marked_false = row.kind == false_kind;
  }
  if (lines.empty()) return std::nullopt;
  const auto& settings = in.status.settings;
  const OutageRecord* running = in.status.watch.outage(id);
  const bool runs = running != nullptr && !running->closed;
  return text({{"outage", outage_text(in.status.watch.plan(), id)},
               {"running", runs},
               {"alarm", runs ? json::value(word(running->alarm)) : json::value(nullptr)},
               {"marked_false", marked_false},
               {"record", std::move(lines)},
               {"notices", notice_objects(rows, settings)}});
}

std::vector<MetricFamily> metric_families(const StatusInput& in) {
  std::vector<MetricFamily> out;
  const auto& plan = in.watch.plan();
  out.push_back(by_contact<ControllerIndex>(
      "ebbwatch_controllers", "Controllers by contact.", in.watch, plan.controllers,
      {"enrolled", "present", "overdue", "silent", "returning"}));
  out.push_back(by_contact<TankIndex>("ebbwatch_tanks", "Tanks by contact.", in.watch, plan.tanks,
                                      {"in_contact", "in_doubt", "lost", "returning"}));
  add_tanks(out, in);
  add_controllers(out, in);
  double running = 0, open = 0;
  for (const auto& record : in.watch.state().outages) {
    if (record.closed) continue;
    ++running;
    if (record.alarm == AlarmState::unacknowledged) ++open;
  }
  out.push_back(single("ebbwatch_outages_running", "Outages that run now.", running));
  out.push_back(
      single("ebbwatch_outages_unacknowledged", "Of these, those that nobody has taken on.", open));
  out.push_back(single("ebbwatch_put_away", "Controllers, tanks and sites that are put away.",
                       static_cast<double>(in.shelves.size())));
  add_notifiers(out, in);
  out.push_back(single("ebbwatch_store_failing", "1 while the store cannot write.",
                       in.store.failing ? 1 : 0));
  out.push_back(single("ebbwatch_own_link_trusted", "1 while the watcher's own link works.",
                       in.watch.uplink_trusted() ? 1 : 0));
  return out;
}

std::vector<CalendarEvent> calendar_events(const StatusInput& in,
                                           const std::vector<DrillRow>& drills) {
  std::vector<CalendarEvent> events;
  const auto& settings = in.settings;
  const std::string place = "@" + settings.watcher.name + ".ebbwatch";
  for (const auto& row : drills) {
    const std::string number = std::to_string(row.outage);
    events.push_back(
        {"drill-" + number + place, row.started_at, row.started_at + Span::of_min(30),
         "Drill at " + name_of_subject(settings, "site", row.site),
         "Told: " + row.told + "\nAnswered: " + (row.answered.empty() ? "nobody" : row.answered)});
  }
  for (const auto& row : in.shelves) {
    if (!row.until) continue;
    events.push_back(
        {"shelf-" + row.scope + "-" + row.subject + "-" + std::to_string(row.since.us / 1'000'000) +
             place,
         row.since, *row.until,
         "Shelved: " + row.scope + " " + name_of_subject(settings, row.scope, row.subject),
         row.reason + " (" + person_name(settings, row.by) + ")"});
  }
  return events;
}

}  // namespace ebbwatch
