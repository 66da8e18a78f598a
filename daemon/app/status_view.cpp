#include "app/status_view.h"

#include <boost/json/array.hpp>
#include <boost/json/value.hpp>

#include "core/wording.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

json::value time_or_null(Instant t, const Clock& clock) {
  if (t.is_never()) return nullptr;
  return json::string(to_rfc3339(clock.to_wall(t)));
}

/// Why and until when it is put away, where that is so; a wider shelf names its subject.
void add_shelf(json::object& out, const StatusInput& in, Subject subject) {
  const Subject tank =
      subject.scope == Scope::controller
          ? Subject{Scope::tank, in.watch.plan().controllers[subject.index].tank.value}
          : subject;
  const Subject site = tank.scope == Scope::tank
                           ? Subject{Scope::site, in.watch.plan().tanks[tank.index].site.value}
                           : tank;
  const ShelfRow* found = nullptr;
  for (const ShelfRow& row : in.shelves) {
    for (const Subject& one : {subject, tank, site}) {
      const bool covers =
          row.scope == word(one.scope) && row.subject == subject_id(in.watch.plan(), one);
      // Out of service lasts longer than any shelf.
      if (covers && (found == nullptr || !row.until)) found = &row;
    }
  }
  if (found == nullptr) return;
  json::object shelf;
  shelf["state"] = found->kind;
  shelf["of"] = found->scope + "/" + found->subject;
  shelf["since"] = to_rfc3339(found->since);
  shelf["until"] = found->until ? json::value(to_rfc3339(*found->until)) : json::value(nullptr);
  shelf["reason"] = found->reason;
  shelf["by"] = found->by;
  out["shelf"] = std::move(shelf);
}

json::object controller_json(const StatusInput& in, ControllerIndex c, std::string_view name) {
  json::object out;
  out["id"] = in.watch.plan().controllers[c.value].id;
  out["name"] = name;
  out["contact"] = word(in.watch.contact(c));
  out["alarm"] = word(in.watch.alarm(c));
  out["last_heard"] = time_or_null(in.watch.last_heard(c), in.clock);
  add_shelf(out, in, {Scope::controller, c.value});
  if (in.watch.vouched(c) && in.witnessing != nullptr) {
    const auto names = in.witnessing->hearers(in.watch, c);
    out["path_broken_heard_by"] = json::array(names.begin(), names.end());
  }
  if (in.witnessing != nullptr) {
    const std::string through = in.witnessing->heard_through(c);
    if (!through.empty()) out["heard_through"] = through;
  }
  if (const Instant until = in.watch.planned_until(c); !until.is_never()) {
    out["planned_stop_until"] = time_or_null(until, in.clock);
  }
  return out;
}

/// Readings that have limits, in the order of the settings.
json::array readings_json(const StatusInput& in, TankIndex tank) {
  json::array readings;
  if (in.readings == nullptr) return readings;
  for (const ReadingBook::Entry& entry : in.readings->entries()) {
    if (entry.tank != tank) continue;
    const ReadingMemory& memory = entry.judge.memory();
    json::object out;
    out["reading"] = entry.name;
    out["controller"] = entry.controller;
    out["value"] = memory.value ? json::value(*memory.value) : json::value(nullptr);
    const auto usual = entry.judge.usual();
    out["usual"] = usual ? json::value(*usual) : json::value(nullptr);
    out["state"] = word(memory.state);
    out["alarm"] = alarm_word(entry);
    if (entry.outage != 0) {
      out["since"] = time_or_null(memory.since, in.clock);
      out["outage"] = outage_text(in.watch.plan(), entry.outage);
      out["text"] = reading_words(entry, in.clock);
    }
    readings.push_back(std::move(out));
  }
  return readings;
}

json::object tank_json(const StatusInput& in, TankIndex t, const TankSettings& tank) {
  json::object out;
  out["id"] = tank.id;
  out["name"] = tank.name;
  out["contact"] = word(in.watch.contact(t));
  out["alarm"] = word(in.watch.alarm(t));
  add_shelf(out, in, {Scope::tank, t.value});
  json::array controllers;
  const auto& members = in.watch.plan().tanks[t.value].controllers;
  for (std::size_t i = 0; i < members.size(); ++i) {
    controllers.push_back(controller_json(in, members[i], tank.controllers[i].name));
  }
  out["controllers"] = std::move(controllers);
  if (auto readings = readings_json(in, t); !readings.empty())
    out["readings"] = std::move(readings);
  return out;
}

json::array sites_json(const StatusInput& in) {
  json::array sites;
  for (std::uint32_t s = 0; s < in.settings.sites.size(); ++s) {
    const auto& site = in.settings.sites[s];
    if (site.is_watcher) continue;
    json::object out;
    out["id"] = site.id;
    out["name"] = site.name;
    out["contact"] = word(in.watch.contact(SiteIndex{s}));
    out["alarm"] = word(in.watch.alarm(SiteIndex{s}));
    add_shelf(out, in, {Scope::site, s});
    json::array tanks;
    const auto& members = in.watch.plan().sites[s].tanks;
    for (std::size_t i = 0; i < members.size(); ++i) {
      tanks.push_back(tank_json(in, members[i], site.tanks[i]));
    }
    out["tanks"] = std::move(tanks);
    sites.push_back(std::move(out));
  }
  return sites;
}

json::array outages_json(const StatusInput& in) {
  json::array outages;
  for (const auto& record : in.watch.state().outages) {
    if (record.closed) continue;
    json::object out;
    out["outage"] = outage_text(in.watch.plan(), record.id);
    if (in.telling != nullptr && !in.telling->name(record.id).empty()) {
      out["outage"] = in.telling->name(record.id);
      const std::string teller = in.telling->teller(record.id);
      out["told_by"] = !teller.empty()                ? teller
                       : in.telling->tells(record.id) ? in.settings.watcher.name
                                                      : std::string();
    }
    out["scope"] = word(record.subject.scope);
    out["subject"] = subject_id(in.watch.plan(), record.subject);
    out["name"] = subject_name(in.settings, in.watch.plan(), record.subject);
    out["since"] = time_or_null(record.since, in.clock);
    out["cause"] = word(record.cause);
    out["confidence"] = record.confidence;
    out["alarm"] = word(record.alarm);
    outages.push_back(std::move(out));
  }
  return outages;
}

json::array notifiers_json(const StatusInput& in) {
  json::array notifiers;
  for (const auto& [id, health] : in.notifiers) {
    json::object out;
    out["id"] = id;
    const bool failing = health.failing || health.check_failing || health.way_failing;
    const bool used = health.since || health.checked_at;
    out["state"] = failing ? "failing" : used ? "working" : "not_used_yet";
    out["since"] = health.since ? json::value(to_rfc3339(*health.since)) : json::value(nullptr);
    out["answer"] = health.answer;
    out["checked_at"] =
        health.checked_at ? json::value(to_rfc3339(*health.checked_at)) : json::value(nullptr);
    out["way"] = health.way;
    out["waiting"] = health.waiting;
    out["dead_letters"] = health.dead_letters;
    notifiers.push_back(std::move(out));
  }
  return notifiers;
}

json::object witness_json(const StatusInput& in, WitnessIndex w) {
  const Exchange& exchange = in.witnessing->exchange();
  const Testimonies& it = exchange.record().of(w);
  json::object out;
  out["name"] = exchange.name(w);
  out["last_heard"] = time_or_null(exchange.last_heard(w), in.clock);
  const auto watched = find_controller(in.watch.plan(), watched_id(exchange.name(w)));
  out["contact"] = watched ? word(in.watch.contact(*watched)) : "enrolled";
  out["its_link"] = exchange.link_works(w) ? "working" : "down";
  out["answered"] = it.answered;
  out["not_answered"] = it.failed;
  out["agreed"] = it.agreed;
  out["disagreed"] = it.disagreed;
  out["proven_wrong"] = it.wrong;
  out["often_wrong"] = it.often_wrong();
  json::array newest;
  for (const auto& one : it.newest) {
    json::object row;
    row["at"] = time_or_null(one.at, in.clock);
    row["controller"] = in.watch.plan().controllers[one.controller.value].id;
    row["said"] = one.hears ? "heard" : "not heard";
    newest.push_back(std::move(row));
  }
  out["disagreements"] = std::move(newest);
  const auto& duties = exchange.duties(w);
  out["tells_first_of"] = json::array(duties.begin(), duties.end());
  return out;
}

json::array witnesses_json(const StatusInput& in) {
  json::array all;
  if (in.witnessing == nullptr || !in.witnessing->any()) return all;
  for (std::uint32_t w = 0; w < in.witnessing->exchange().size(); ++w) {
    all.push_back(witness_json(in, WitnessIndex{w}));
  }
  return all;
}

json::value time_or_null(const std::optional<WallTime>& time) {
  return time ? json::value(to_rfc3339(*time)) : json::value(nullptr);
}

json::array ways_json(const StatusInput& in) {
  json::array ways;
  for (const WayProof& way : in.ways) {
    json::object out;
    out["keyholder"] = way.keyholder;
    out["notifier"] = way.notifier;
    out["delivered_at"] = time_or_null(way.delivered_at);
    out["answered_at"] = time_or_null(way.answered_at);
    out["proven_at"] = time_or_null(way.proven_at);
    out["proven_by"] = way.asks_answer ? "answer" : "delivery";
    out["overdue"] = way.overdue;
    ways.push_back(std::move(out));
  }
  return ways;
}

json::array stand_ins_json(const StatusInput& in) {
  json::array all;
  for (const StandInRow& row : in.stand_ins) {
    all.push_back(json::object{{"absent", row.absent},
                               {"stand_in", row.stand_in},
                               {"from", to_rfc3339(row.since)},
                               {"until", to_rfc3339(row.until)},
                               {"by", row.by}});
  }
  return all;
}

json::object drill_json(const StatusInput& in) {
  json::object out;
  out["outage"] = outage_text(in.watch.plan(), in.drill->outage);
  out["started_at"] = to_rfc3339(in.drill->started_at);
  out["site"] = in.drill->site;
  out["by"] = in.drill->by;
  out["told"] = in.drill->told;
  out["answered"] = in.drill->answered;
  out["state"] = in.drill->closed ? "over" : "waiting_for_answers";
  return out;
}

// Measured while notices are under way; an idle loop is not woken for it.
json::object loop_json(const LoopLateness& lateness) {
  json::object out;
  out["samples"] = lateness.samples();
  out["late_p99_ms"] = lateness.quantile(0.99).us / 1000;
  out["late_longest_ms"] = static_cast<double>(lateness.longest().us) / 1000;
  return out;
}

}  // namespace

json::object status_json(const StatusInput& in) {
  json::object out;
  out["watcher"] = in.settings.watcher.name;
  out["at"] = to_rfc3339(in.clock.wall_now());
  out["sites"] = sites_json(in);
  out["outages"] = outages_json(in);
  out["notifiers"] = notifiers_json(in);
  out["witnesses"] = witnesses_json(in);
  out["ways"] = ways_json(in);
  out["stand_ins"] = stand_ins_json(in);
  if (in.drill != nullptr) out["drill"] = drill_json(in);
  out["own_link"] = in.settings.watcher.uplink_references.empty() ? "not_judged"
                    : in.watch.uplink_trusted()                   ? "working"
                                                                  : "down";
  out["store"] = in.store.failing ? in.store.reason : std::string("working");
  if (!in.set_aside.empty()) {
    out["databases_put_aside"] = json::array(in.set_aside.begin(), in.set_aside.end());
  }
  if (in.lateness != nullptr) out["loop"] = loop_json(*in.lateness);
  if (in.doors != nullptr) in.doors->add_to(out);
  if (!in.configuration_refused.empty()) out["configuration_refused"] = in.configuration_refused;
  if (!in.unmet_wishes.empty()) {
    out["wishes_not_to_be_had"] = json::array(in.unmet_wishes.begin(), in.unmet_wishes.end());
  }
  return out;
}

}  // namespace ebbwatch
