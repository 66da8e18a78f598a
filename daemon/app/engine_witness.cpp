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
    if (first) parts_.committer.now({}, [](bool) {});
  }
  feed(event);
}

/// What a witness is responsible for is told with its loss, as what to see to first.
void Engine::note_duties(const std::string& witness) {
  const Exchange& exchange = witnessing_.exchange();
  const auto index = exchange.find(witness);
  if (!index || exchange.duties(*index).empty()) return;
  std::string text = "It was the first to tell of ";
  std::size_t named = 0;
  for (const std::string& name : exchange.duties(*index)) {
    text += (named++ == 0 ? "" : ", ") + name;
  }
  const std::size_t all = std::max<std::size_t>(exchange.duties_in_all(*index), named);
  if (all > named) text += " and " + std::to_string(all - named) + " more";
  text += ". Another watcher does so while it is away, where one is configured to.";
  for (SiteSettings& site : settings_.sites) {
    if (site.is_watcher && site.id == watched_id(witness)) site.instructions = text;
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
  note_duties(from);
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
  note_duties(from);
  arm();
  return answer;
}

void Engine::learn_from(const std::string& witness, const WitnessMessage& message, Instant now) {
  telling_.alive(witness, message.link_works, now);
  telling_.learn(witness, message.outages, now);
  act_on_telling();
}

}  // namespace ebbwatch
