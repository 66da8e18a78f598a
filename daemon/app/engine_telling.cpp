// The engine's part about who tells: of several watchers that confirmed the same loss, one.
#include <charconv>
#include <string_view>
#include <utility>

#include "app/engine.h"
#include "app/rows.h"
#include "core/wording.h"
#include "reporting/log.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

/// Signs of life missed in a row before a partner does not count as alive.
constexpr std::int64_t alive_for = 3;
/// Numbers of shared outages in the store.
constexpr std::string_view place_fact = "shared/place/", outage_fact = "shared/outage/";

}  // namespace

/// The place that the decision is about, where several watchers tell of it.
std::optional<TellingOrder::Place> Engine::shared_place(Subject subject) const {
  std::vector<SiteIndex> sites;
  if (const auto one = site_of(plan_, subject)) {
    sites.push_back(*one);
  } else if (subject.scope == Scope::area) {
    sites = plan_.areas[subject.index].sites;
  } else if (subject.scope == Scope::provider) {
    sites = plan_.providers[subject.index].sites;
  }
  for (const SiteIndex site : sites) {
    const SiteSettings* settings = site_of(settings_, plan_.sites[site.value].id);
    if (settings == nullptr || settings->tells_first.size() < 2) continue;
    const bool alone = sites.size() == 1;
    return TellingOrder::Place{alone ? settings->id : subject_id(plan_, subject),
                               settings->tells_first};
  }
  return std::nullopt;
}

std::string Engine::outage_name(OutageId outage) const {
  const std::string shared = telling_.name(outage);
  return shared.empty() ? outage_text(plan_, outage) : shared;
}

std::optional<OutageId> Engine::find_outage(const std::string& text) const {
  return telling_.find(text);
}

/// Outages that ran when the process ended; those of which nobody was told may be told by others.
void Engine::restore_telling(const StoredState& stored, Instant now) {
  TellingOrder::Numbers numbers;
  for (const FactRow& fact : stored.facts) {
    const auto number = static_cast<std::uint32_t>(fact.value);
    if (fact.name.starts_with(place_fact)) {
      numbers.of_place[fact.name.substr(place_fact.size())] = number;
    } else if (fact.name.starts_with(outage_fact)) {
      const std::string digits = fact.name.substr(outage_fact.size());
      OutageId outage = 0;
      std::from_chars(digits.data(), digits.data() + digits.size(), outage);
      if (watch_->outage(outage) != nullptr) numbers.of_outage[outage] = number;
    }
  }
  stored_numbers_ = numbers;
  telling_.restore(std::move(numbers));
  started_at_ = now;
  for (const WitnessSettings& one : settings_.witnesses) telling_.alive(one.name, true, now);
  for (const auto& record : watch_->state().outages) {
    const auto place = record.closed ? std::nullopt : shared_place(record.subject);
    if (!place) continue;
    const bool told = dispatcher_.calls_for(record.id);
    telling_.lost(record.id, *place, record.since, now, told);
  }
}

void Engine::note_telling(const Decision& decision) {
  if (!witnessing_.any() || decision.outage == 0) return;
  if (decision.kind == DecisionKind::loss) {
    note_duties(decision.subject);
    if (const auto place = shared_place(decision.subject)) {
      telling_.lost(decision.outage, *place, decision.since, decision.at);
    }
  } else if (decision.kind == DecisionKind::recovery) {
    telling_.closed(decision.outage, decision.at);
  }
}

void Engine::act_on_telling() {
  for (const TellingAct& act : telling_.take_acts()) {
    const std::string name = telling_.name(act.outage);
    switch (act.kind) {
      case TellingAct::Kind::tell:
        tell_shared(act);
        break;
      case TellingAct::Kind::hand_over:
        dispatcher_.hand_over(act.outage);
        say(Level::info, "telling", "Watcher " + act.by + " tells of " + name + " from now on.");
        break;
      case TellingAct::Kind::acknowledge:
        acknowledged_elsewhere(act);
        break;
      case TellingAct::Kind::put_away:
        put_away_elsewhere(act);
        break;
      case TellingAct::Kind::reached:
        dispatcher_.reached_elsewhere(act.outage, act.delivered);
        break;
    }
  }
}

void Engine::tell_shared(const TellingAct& act) {
  const OutageRecord* record = watch_->outage(act.outage);
  if (record == nullptr || record->closed || !record->told) return;
  Decision loss;
  loss.at = record->confirmed_at;
  loss.kind = DecisionKind::loss;
  loss.subject = record->subject;
  loss.outage = record->id;
  loss.since = record->since;
  loss.cause = record->cause;
  loss.confidence = record->confidence;
  loss.evidence = record->evidence;
  if (!act.delivered.empty()) {
    say(Level::warning, "telling",
        "This watcher tells of " + outage_name(act.outage) + " now; others had reached " +
            std::to_string(act.delivered.size()) + " ways.");
  }
  dispatcher_.reached_elsewhere(act.outage, act.delivered);
  Batch batch;
  const std::uint64_t ticket = dispatcher_.decided(loss, context_of(loss), batch);
  parts_.committer.now(std::move(batch), [this, ticket](bool) { dispatcher_.release(ticket); });
}

void Engine::acknowledged_elsewhere(const TellingAct& act) {
  const OutageRecord* record = watch_->outage(act.outage);
  if (record == nullptr || record->closed) return;
  if (record->alarm == AlarmState::unacknowledged) {
    change_alarm({enter(), Acknowledge{act.outage}}, act.outage);
    say(Level::info, "acknowledged",
        outage_name(act.outage) + " was taken on by " + quoted(act.by) + " (another watcher).");
  }
  dispatcher_.acknowledge(act.outage, {act.by, AnswerWay::other_watcher});
}

void Engine::put_away_elsewhere(const TellingAct& act) {
  const OutageRecord* record = watch_->outage(act.outage);
  if (record == nullptr || record->closed) return;
  ShelfWish wish;
  wish.subject =
      std::string(word(record->subject.scope)) + "/" + subject_id(plan_, record->subject);
  wish.until = parts_.clock.wall_now() + act.rest;
  wish.reason = "shelved at another watcher";
  wish.by = act.by.empty() ? "another watcher" : act.by;
  const auto done = put_away(wish);
  if (!done) say(Level::warning, "telling", "Not shelved here: " + done.error().text);
}

void Engine::tick_telling(Instant now) {
  if (!witnessing_.any()) return;
  const Exchange& exchange = witnessing_.exchange();
  const Span patience = settings_.watcher.witness_every * alive_for;
  for (std::uint32_t i = 0; i < exchange.size(); ++i) {
    const WitnessIndex witness{i};
    Instant heard = exchange.last_heard(witness);
    if (heard.is_never()) heard = started_at_;
    const bool alive = now - heard <= patience && exchange.link_works(witness);
    telling_.alive(exchange.name(witness), alive, now);
  }
  telling_.tick(now);
  act_on_telling();
}

/// Tells partners what has changed, at once; the rest goes with the next sign of life.
void Engine::share_outages() {
  if (!witnessing_.any() || stopped_ || !watch_) return;
  const Instant now = parts_.clock.now();
  for (const SharedOutage& view : telling_.views(now)) {
    if (const auto outage = telling_.find(view.name)) {
      telling_.delivered(*outage, dispatcher_.delivered_of(*outage));
    }
  }
  std::vector<SharedOutage> views = telling_.views(now);
  std::string state;
  for (const SharedOutage& view : views) {
    state += view.name + (view.told ? " told" : "") + (view.closed ? " closed" : "") + " " +
             view.taken_by + (view.put_away_for ? " away" : "");
    for (const std::string& one : view.delivered) state += "," + one;
    state += ";";
  }
  const bool news = state != shared_state_;
  shared_state_ = std::move(state);
  witnessing_.set_outages(std::move(views), news);
  if (telling_.numbers() == stored_numbers_) return;
  stored_numbers_ = telling_.numbers();
  Batch batch;
  for (const auto& [place, number] : stored_numbers_.of_place) {
    batch.facts.push_back({std::string(place_fact) + place, number});
  }
  for (const auto& [outage, number] : stored_numbers_.of_outage) {
    batch.facts.push_back({std::string(outage_fact) + std::to_string(outage), number});
  }
  parts_.committer.later(std::move(batch));
}

}  // namespace ebbwatch
