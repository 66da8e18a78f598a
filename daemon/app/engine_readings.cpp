// The engine's part about readings: their judges' changes into history, alarms and notices.
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "app/engine.h"
#include "core/wording.h"
#include "notices/reading_news.h"
#include "reporting/log.h"
#include "settings/plan.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

bool is_put_away(AlarmState alarm) {
  return alarm == AlarmState::shelved || alarm == AlarmState::out_of_service ||
         alarm == AlarmState::suppressed_by_design;
}

ReadingNews news_of(const ReadingBook::Entry& entry, const ReadingChange& change) {
  const bool over = change.is == ReadingState::normal;
  return {entry.name, entry.controller, over ? change.was : change.is, change.value, change.bound};
}

}  // namespace

void Engine::judge_readings(ControllerIndex controller, const ParsedCheckIn& parsed, Batch& batch) {
  // Judged on the axis of the core, which never steps back.
  const auto steps = readings_.check_in(controller, parsed, fed_until_);
  for (ReadingRow& row : readings_.take_learnt(controller, parts_.clock)) {
    batch.readings.push_back(std::move(row));
  }
  if (steps.empty()) return;
  Batch decided;
  std::uint64_t ticket = 0;
  for (const auto& [entry, change] : steps) {
    if (change.was != ReadingState::normal) {
      ReadingChange end = change;
      end.is = ReadingState::normal;
      ticket = std::max(ticket, end_reading(entry, end, decided));
    }
    if (change.is != ReadingState::normal) {
      ticket = std::max(ticket, begin_reading(entry, change, decided));
    }
    decided.readings.push_back(to_row(entry, parts_.clock));
  }
  parts_.committer.now(std::move(decided), [this, ticket](bool) { dispatcher_.release(ticket); });
  parts_.changed();
  arm();
}

std::uint64_t Engine::begin_reading(ReadingBook::Entry& entry, const ReadingChange& change,
                                    Batch& batch) {
  entry.outage = watch_->take_number();
  entry.taken = false;
  entry.told = tells_readings_of(entry.tank);
  batch.next_outage = entry.outage + 1;
  return add_reading(entry, DecisionKind::loss, change, batch);
}

std::uint64_t Engine::end_reading(ReadingBook::Entry& entry, const ReadingChange& change,
                                  Batch& batch) {
  const std::uint64_t ticket = add_reading(entry, DecisionKind::recovery, change, batch);
  entry.outage = 0;
  entry.told = entry.taken = false;
  return ticket;
}

std::uint64_t Engine::add_reading(const ReadingBook::Entry& entry, DecisionKind kind,
                                  const ReadingChange& change, Batch& batch) {
  Decision decision;
  decision.at = change.at;
  decision.kind = kind;
  decision.subject = {Scope::tank, entry.tank.value};
  decision.outage = entry.outage;
  decision.since = change.since;
  const DeskContext context = context_of(decision);
  const ReadingNews news = news_of(entry, change);
  Story story;
  story.kind = kind;
  story.reading = news;
  story.since = context.since;
  const std::string sentence = reading_news(Speech(Language::english, context.now), story) + ".";
  DecisionRow row;
  row.at = context.at;
  row.kind = reading_word(kind);
  row.scope = word(Scope::tank);
  row.subject = plan_.tanks[entry.tank.value].id;
  row.outage = entry.outage;
  boost::json::object json{
      {"at", to_rfc3339(context.at)},
      {"decision", row.kind},
      {"scope", row.scope},
      {"subject", row.subject},
      {"outage", outage_text(plan_, entry.outage)},
      {"since_s", static_cast<double>(context.since.us) / 1e6},
      {"cause", word(Cause::undetermined)},
      {"confidence", 0},
      {"evidence", boost::json::array{sentence, "Reported by " + entry.controller + "."}},
      {"reading", entry.name},
      {"controller", entry.controller},
      {"state", word(change.is)},
      {"bound", change.bound}};
  json["value"] = change.value ? boost::json::value(*change.value) : boost::json::value(nullptr);
  row.json = boost::json::serialize(json);
  const std::string told = entry.name + " of " + entry.controller + " (tank " + row.subject +
                           "): " + sentence + " Alarm " + outage_text(plan_, entry.outage) +
                           (entry.told ? "." : ", not told.");
  if (kind == DecisionKind::loss) {
    say(Level::warning, "reading_alarm", told);
  } else {
    say(Level::info, "reading_normal", told);
  }
  std::string text = row.json;
  batch.decisions.push_back(std::move(row));
  if (!entry.told) return 0;
  return dispatcher_.reading(decision, news, text, context, batch);
}

// Of a site that several watchers answer for, the first one that lives tells.
bool Engine::tells_readings_of(TankIndex tank) const {
  if (is_put_away(watch_->alarm(tank))) return false;
  const SiteIndex site = plan_.tanks[tank.value].site;
  const SiteSettings* settings = site_of(settings_, plan_.sites[site.value].id);
  if (settings == nullptr) return true;
  for (const std::string& name : settings->tells_first) {
    if (name == settings_.watcher.name) return true;
    const auto watched = find_controller(plan_, watched_id(name));
    if (watched && watch_->contact(*watched) == Contact::present) return false;
  }
  return true;
}

void Engine::store_reading(const ReadingBook::Entry& entry) {
  Batch batch;
  batch.readings.push_back(to_row(entry, parts_.clock));
  parts_.committer.later(std::move(batch));
}

// Alarms of readings that the new settings do not judge any more.
void Engine::drop_readings(const std::vector<ReadingBook::Entry>& gone) {
  for (ReadingBook::Entry entry : gone) {
    Batch batch;
    std::uint64_t ticket = 0;
    if (const auto controller = find_controller(plan_, entry.controller)) {
      entry.tank = plan_.controllers[controller->value].tank;
      const ReadingMemory& memory = entry.judge.memory();
      ticket = end_reading(
          entry,
          {memory.state, ReadingState::normal, fed_until_, fed_until_, memory.value, memory.bound},
          batch);
    } else {
      dispatcher_.rest(entry.outage);  // Nobody is left to tell about.
      entry.outage = 0;
    }
    ReadingRow row = to_row(entry, parts_.clock);
    row.state = word(ReadingState::normal);
    batch.readings.push_back(std::move(row));
    parts_.committer.now(std::move(batch), [this, ticket](bool) { dispatcher_.release(ticket); });
  }
}

// What was told and is put away now rests. What was held, since its tank was put away or another
// watcher told, is told once that is over.
void Engine::tend_readings() {
  for (ReadingBook::Entry& entry : readings_.entries()) {
    if (entry.outage == 0) continue;
    if (entry.told && is_put_away(watch_->alarm(entry.tank))) {
      entry.told = false;
      dispatcher_.rest(entry.outage);
      store_reading(entry);
    } else if (!entry.told && tells_readings_of(entry.tank)) {
      entry.told = true;
      const ReadingMemory& memory = entry.judge.memory();
      Batch batch;
      const std::uint64_t ticket = add_reading(entry, DecisionKind::loss,
                                               {ReadingState::normal, memory.state, fed_until_,
                                                memory.since, memory.value, memory.bound},
                                               batch);
      batch.readings.push_back(to_row(entry, parts_.clock));
      parts_.committer.now(std::move(batch), [this, ticket](bool) { dispatcher_.release(ticket); });
    }
  }
}

}  // namespace ebbwatch
