// The engine's part about witnesses: their messages in and out, as events of the core.
#include <algorithm>
#include <utility>

#include "app/engine.h"
#include "reporting/log.h"
#include "settings/plan.h"

namespace ebbwatch {

void Engine::feed_from_witness(const Event& event) {
  if (const auto* check_in = std::get_if<CheckIn>(&event.what)) {
    const std::string& id = plan_.controllers[check_in->controller.value].id;
    say(Level::debug, "check_in",
        check_in->relayed ? id + " was heard by a witness, which passed it on."
                          : id + " gave a sign of life.");
    const bool first = watch_->contact(check_in->controller) == Contact::enrolled;
    mark(check_in->controller);
    Batch batch;
    if (check_in->relayed) {
      CheckInRow row;
      row.at = parts_.clock.to_wall(event.at);
      row.controller = id;
      row.relayed_by = witnessing_.heard_through(check_in->controller);
      batch.check_ins.push_back(std::move(row));
    }
    if (first) {
      parts_.committer.now(std::move(batch), [](bool) {});
    } else {
      parts_.committer.later(std::move(batch));
    }
  }
  feed(event);
}

/// With the loss of a witness people are told what it did, and what nobody watches meanwhile.
void Engine::note_duties(Subject lost) {
  const auto place = site_of(plan_, lost);
  if (!place || !settings_.sites[place->value].is_watcher) return;
  for (const WitnessSettings& one : settings_.witnesses) {
    SiteSettings& site = settings_.sites[place->value];
    if (site.id == watched_id(one.name))
      site.instructions = witnessing_.duty_text(one.name, settings_, plan_);
  }
}

std::vector<Exchange::Request> Engine::witness_requests() {
  if (stopped_ || !watch_) return {};
  return witnessing_.take_requests(parts_.clock.now());
}

void Engine::witness_answered(const std::string& from, const WitnessMessage& answer) {
  if (stopped_) return;
  const Instant now = enter();
  witnessing_.answered(from, answer, now);
  learn_from(from, answer, now);
  arm();
}

void Engine::witness_failed(const std::string& from) {
  if (stopped_) return;
  witnessing_.failed(from, enter());
  arm();
}

std::optional<WitnessMessage> Engine::serve_witness(const std::string& from,
                                                    const WitnessMessage& request) {
  if (stopped_) return std::nullopt;
  const Instant now = enter();
  learn_from(from, request, now);
  share_outages();
  auto answer = witnessing_.serve(from, request, now);
  arm();
  return answer;
}

void Engine::learn_from(const std::string& witness, const WitnessMessage& message, Instant now) {
  telling_.alive(witness, message.link_works, now);
  telling_.learn(witness, message.outages, now);
  act_on_telling();
}

}  // namespace ebbwatch
