#include "app/board_views.h"

#include <algorithm>

#include "app/people.h"
#include "core/wording.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

std::string words(std::string text) {
  std::replace(text.begin(), text.end(), '_', ' ');
  return text;
}

std::string joined(const std::vector<std::string>& parts, const char* between) {
  std::string out;
  for (const auto& part : parts) out += (out.empty() ? "" : between) + part;
  return out;
}

Moment moment_at(Instant t, const StatusInput& in) {
  if (t.is_never()) return {};
  return moment_of(in.clock.to_wall(t), in.clock.wall_now());
}

/// Alarms of readings that run at the tank.
std::vector<const ReadingBook::Entry*> reading_alarms(const StatusInput& in, TankIndex tank) {
  std::vector<const ReadingBook::Entry*> found;
  if (in.readings == nullptr) return found;
  for (const ReadingBook::Entry* entry : in.readings->alarms()) {
    if (entry->tank == tank) found.push_back(entry);
  }
  return found;
}

PanelWindow window_of(const BoardInput& input, SiteIndex s, std::size_t place) {
  const StatusInput& in = input.status;
  const auto& site = in.settings.sites[s.value];
  const TankIndex t = in.watch.plan().sites[s.value].tanks[place];
  PanelWindow window;
  window.tank = site.tanks[place].id;
  window.name = site.tanks[place].name;
  window.site = site.id;
  window.site_name = site.name;
  window.contact = words(word(in.watch.contact(t)));
  window.alarm = words(word(in.watch.alarm(t)));
  if (const auto* record = outage_of(in.watch, t)) {
    window.outage = outage_text(in.watch.plan(), record->id);
    window.since = moment_at(record->since, in);
    window.clocks = clocks_view(input, t);
    window.clocks.assumptions.clear();
  }
  for (const ReadingBook::Entry* entry : reading_alarms(in, t)) {
    window.readings.push_back({outage_text(in.watch.plan(), entry->outage),
                               reading_words(*entry, in.clock), alarm_word(*entry)});
  }
  return window;
}

RunningOutage running_of(const BoardInput& in, const OutageRecord& record) {
  const auto& status = in.status;
  RunningOutage out;
  out.outage = outage_text(status.watch.plan(), record.id);
  const std::string shared =
      status.telling != nullptr ? status.telling->name(record.id) : std::string();
  if (!shared.empty()) out.outage = shared;
  out.name = subject_name(status.settings, status.watch.plan(), record.subject);
  out.scope = word(record.subject.scope);
  out.alarm = words(word(record.alarm));
  out.since = moment_at(record.since, status);
  out.cause = cause_text(word(record.cause), record.confidence);
  out.taken_by = person_name(status.settings, in.taken_by(record.id));
  out.sites = sites_of_subject(status.settings, word(record.subject.scope),
                               subject_id(status.watch.plan(), record.subject));
  return out;
}

RunningOutage running_of(const BoardInput& in, const ReadingBook::Entry& entry) {
  const auto& status = in.status;
  const Subject tank{Scope::tank, entry.tank.value};
  RunningOutage out;
  out.outage = outage_text(status.watch.plan(), entry.outage);
  out.name = subject_name(status.settings, status.watch.plan(), tank);
  out.scope = "reading";
  out.alarm = alarm_word(entry);
  out.since = moment_at(entry.judge.memory().since, status);
  out.cause = reading_words(entry, status.clock);
  out.taken_by = person_name(status.settings, in.taken_by(entry.outage));
  out.sites =
      sites_of_subject(status.settings, word(Scope::tank), subject_id(status.watch.plan(), tank));
  return out;
}

ControllerLine controller_line(const StatusInput& in, ControllerIndex c,
                               const ControllerSettings& controller) {
  ControllerLine line;
  line.id = controller.id;
  line.name = controller.name;
  line.contact = word(in.watch.contact(c));
  line.supply = controller.supply == Supply::mains ? "mains" : "battery-backed";
  line.interval = span_text(controller.interval);
  line.last_heard = moment_at(in.watch.last_heard(c), in);
  if (in.witnessing == nullptr) return line;
  const auto hearers = in.witnessing->hearers(in.watch, c);
  const std::string through = in.witnessing->heard_through(c);
  if (!hearers.empty()) {
    line.note = "the path between us and the site is broken; heard by " + joined(hearers, ", ");
  } else if (!through.empty()) {
    line.note = "heard through the witness " + through;
  }
  return line;
}

TankSheet tank_sheet(const BoardInput& input, SiteIndex s, std::size_t place) {
  const StatusInput& in = input.status;
  const auto& tank = in.settings.sites[s.value].tanks[place];
  TankSheet sheet;
  sheet.id = tank.id;
  sheet.name = tank.name;
  sheet.instructions = tank.instructions;
  if (tank.facts.volume_l) {
    sheet.volume = std::to_string(static_cast<long>(*tank.facts.volume_l + 0.5)) + " l";
  }
  sheet.window = window_of(input, s, place);
  sheet.window.clocks = {};
  const TankIndex t = in.watch.plan().sites[s.value].tanks[place];
  sheet.clocks = clocks_view(input, t);
  const auto& members = in.watch.plan().tanks[t.value].controllers;
  for (std::size_t i = 0; i < members.size(); ++i) {
    sheet.controllers.push_back(controller_line(in, members[i], tank.controllers[i]));
  }
  return sheet;
}

void add_call_list(SiteView& view, const Settings& settings) {
  const auto same = [&](const CallListSettings& list) { return list.id == view.call_list; };
  const auto list = std::find_if(settings.call_lists.begin(), settings.call_lists.end(), same);
  if (list == settings.call_lists.end()) return;
  for (const auto& step : list->steps) {
    std::vector<std::string> people;
    for (const auto& id : step.tell) people.push_back(person_name(settings, id));
    view.steps.push_back({step.after == Span{} ? "at once" : "after " + span_text(step.after),
                          joined(people, ", "), joined(step.by, ", else ")});
  }
  if (list->repeat_every) {
    view.repeats = "Told again every " + span_text(*list->repeat_every) + ", at most " +
                   std::to_string(list->repeat_at_most) + " times.";
  }
}

Choice choice_of(const char* scope, const std::string& id, const std::string& name) {
  const std::string shown = std::string(scope) + " " + name;
  return {std::string(scope) + "/" + id, name == id ? shown : shown + " (" + id + ")"};
}

void add_put_away(SiteView& view, const SiteSettings& site, const StatusInput& in) {
  view.subjects.push_back({"site/" + site.id, "the whole site"});
  for (const auto& tank : site.tanks) {
    view.subjects.push_back(choice_of("tank", tank.id, tank.name));
    for (const auto& controller : tank.controllers) {
      view.subjects.push_back(choice_of("controller", controller.id, controller.name));
    }
  }
  const WallTime now = in.clock.wall_now();
  for (const auto& row : in.shelves) {
    const auto same = [&](const Choice& one) { return one.value == row.scope + "/" + row.subject; };
    const auto what = std::find_if(view.subjects.begin(), view.subjects.end(), same);
    if (what == view.subjects.end()) continue;
    PutAwayLine line{what->value,
                     what->name,
                     words(row.kind),
                     moment_of(row.since, now),
                     row.until ? moment_of(*row.until, now) : Moment{},
                     row.reason,
                     person_name(in.settings, row.by)};
    line.may_end = row.until.has_value();
    view.put_away.push_back(std::move(line));
  }
}

}  // namespace

Moment moment_of(WallTime time, WallTime now) {
  return {time_of_day(time, now), to_rfc3339(time)};
}

std::vector<std::string> remarks_of(const StatusInput& in) {
  std::vector<std::string> remarks;
  if (!in.settings.watcher.uplink_references.empty() && !in.watch.uplink_trusted()) {
    remarks.push_back("This watcher's own link is down: it cannot judge contact now.");
  }
  if (in.store.failing) {
    remarks.push_back("The store is failing: " + in.store.reason +
                      " Deciding and telling go on in memory.");
  }
  remarks.insert(remarks.end(), in.set_aside.begin(), in.set_aside.end());
  for (const auto& [id, health] : in.notifiers) {
    if (!health.failing) continue;
    remarks.push_back("The notifier " + id + " is failing" +
                      (health.answer.empty() ? "." : ": " + health.answer));
  }
  if (!in.configuration_refused.empty()) {
    remarks.push_back("The last reload was refused: " + in.configuration_refused);
  }
  return remarks;
}

PanelView panel_view(const BoardInput& in) {
  PanelView view;
  const auto& plan = in.status.watch.plan();
  for (std::uint32_t s = 0; s < plan.sites.size(); ++s) {
    for (std::size_t t = 0; t < plan.sites[s].tanks.size(); ++t) {
      view.windows.push_back(window_of(in, SiteIndex{s}, t));
    }
  }
  for (const auto& record : in.status.watch.state().outages) {
    if (!record.closed) view.running.push_back(running_of(in, record));
  }
  if (in.status.readings != nullptr) {
    for (const auto* entry : in.status.readings->alarms()) {
      view.running.push_back(running_of(in, *entry));
    }
  }
  return view;
}

std::optional<SiteView> site_view(const BoardInput& in, const std::string& id) {
  const auto& sites = in.status.settings.sites;
  const auto found = std::find_if(sites.begin(), sites.end(),
                                  [&](const SiteSettings& site) { return site.id == id; });
  if (found == sites.end()) return std::nullopt;
  const SiteIndex s{static_cast<std::uint32_t>(found - sites.begin())};
  SiteView view;
  view.id = id;
  view.name = found->name;
  view.contact = words(word(in.status.watch.contact(s)));
  view.alarm = words(word(in.status.watch.alarm(s)));
  view.area = found->area.value_or("");
  view.provider = found->provider.value_or("");
  view.instructions = found->instructions;
  for (std::size_t t = 0; t < found->tanks.size(); ++t) {
    view.tanks.push_back(tank_sheet(in, s, t));
  }
  view.call_list = found->call_list.value_or("");
  add_call_list(view, in.status.settings);
  add_put_away(view, *found, in.status);
  return view;
}

}  // namespace ebbwatch
