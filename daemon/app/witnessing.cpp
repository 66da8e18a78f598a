#include "app/witnessing.h"

#include <algorithm>
#include <utility>

#include "app/engine.h"
#include "reporting/log.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    out += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  }
  return out;
}

}  // namespace

WatchPlan Witnessing::live_plan(const Settings& settings) {
  WatchPlan plan = make_plan(settings);
  plan.asks_witnesses = !plan.witnesses.empty();
  return plan;
}

std::vector<std::string> duties_of(const Settings& settings) {
  std::vector<std::string> names;
  for (const SiteSettings& site : settings.sites) {
    const bool first =
        site.tells_first.empty() || site.tells_first.front() == settings.watcher.name;
    if (!site.is_watcher && first) names.push_back(site.name.substr(0, limits::name_chars_max));
  }
  return names;
}

void Witnessing::use(const Settings& settings, const WatchPlan& plan) {
  std::vector<WitnessPartner> partners;
  for (const WitnessSettings& one : settings.witnesses) {
    const auto beat = find_controller(plan, watched_id(one.name));
    partners.push_back({one.name, !one.url.empty(), one.relay, beat.value_or(ControllerIndex{})});
  }
  std::vector<std::string> controllers;
  for (const ControllerPlan& one : plan.controllers) controllers.push_back(one.id);
  reachable_.assign(partners.size(), 1);
  exchange_ = std::make_unique<Exchange>(
      plan.watcher, std::move(partners), std::move(controllers),
      ExchangeRules{settings.watcher.witness_limit, settings.watcher.witness_every});
  std::vector<std::string> duties = duties_of(settings);
  const auto count = static_cast<std::uint32_t>(duties.size());
  exchange_->set_duties(std::move(duties), count);
}

void Witnessing::heard(ControllerIndex controller, Instant at) {
  if (any()) exchange_->heard(controller, at);
}

void Witnessing::was_deaf_until(Instant at) {
  if (any()) exchange_->was_deaf_until(at);
}

void Witnessing::feed_all(std::vector<Event>& events) {
  for (const Event& event : events) {
    if (const auto* sign = std::get_if<WitnessReachable>(&event.what)) {
      say_reachability(sign->witness, sign->reachable, "");
    }
    feed_(event);
  }
}

void Witnessing::say_reachability(WitnessIndex witness, bool reachable, const std::string&) {
  char& known = reachable_[witness.value];
  if (known == static_cast<char>(reachable)) return;
  known = static_cast<char>(reachable);
  const std::string& name = exchange_->name(witness);
  say(reachable ? Level::info : Level::warning, "witness",
      "Witness " + name +
          (reachable ? " can be asked again."
                     : " cannot be asked: it does not answer, or its own link is down. It "
                       "abstains."));
}

void Witnessing::after_event(Watch& watch, Instant now) {
  if (!any()) return;
  const bool trusted = watch.uplink_trusted();
  if (trusted && !link_was_trusted_) exchange_->was_deaf_until(now);
  link_was_trusted_ = trusted;
  exchange_->set_link_works(trusted);
  questions_.clear();
  watch.take_questions(questions_);
  if (questions_.empty()) return;
  std::vector<Event> events;
  exchange_->ask(questions_, now, events);
  feed_all(events);
}

void Witnessing::decided(const Decision& decision) {
  if (!any() || decision.kind != DecisionKind::recovery) return;
  for (const Evidence& it : decision.evidence) {
    const bool was_off = it.code == Evidence::Code::restarted;
    if (!was_off && it.code != Evidence::Code::kept_running) continue;
    exchange_->record().returned(ControllerIndex{it.subject.index}, was_off);
  }
}

void Witnessing::tick(Instant now) {
  if (!any()) return;
  std::vector<Event> events;
  exchange_->tick(now, events);
  feed_all(events);
}

void Witnessing::set_outages(std::vector<SharedOutage> views, bool news) {
  if (!any()) return;
  exchange_->set_outages(std::move(views));
  if (news) exchange_->hurry();
}

Instant Witnessing::next_deadline() const {
  return any() ? exchange_->next_deadline() : Instant::never();
}

std::vector<Exchange::Request> Witnessing::take_requests(Instant now) {
  return any() ? exchange_->take_requests(now) : std::vector<Exchange::Request>{};
}

void Witnessing::answered(const std::string& from, const WitnessMessage& answer, Instant now) {
  const auto witness = any() ? exchange_->find(from) : std::nullopt;
  if (!witness) return;
  std::vector<Event> events;
  exchange_->answered(*witness, answer, now, events);
  feed_all(events);
}

void Witnessing::failed(const std::string& from, Instant now) {
  const auto witness = any() ? exchange_->find(from) : std::nullopt;
  if (!witness) return;
  std::vector<Event> events;
  exchange_->failed(*witness, now, events);
  feed_all(events);
}

std::optional<WitnessMessage> Witnessing::serve(const std::string& from,
                                                const WitnessMessage& request, Instant now) {
  const auto witness = any() ? exchange_->find(from) : std::nullopt;
  if (!witness) return std::nullopt;
  std::vector<Event> events;
  WitnessMessage answer = exchange_->serve(*witness, request, now, events);
  feed_all(events);
  return answer;
}

std::vector<std::string> Witnessing::hearers(const Watch& watch, ControllerIndex controller) const {
  if (!any() || !watch.vouched(controller)) return {};
  return exchange_->hearers(controller);
}

std::string Witnessing::duty_text(const std::string& witness, const Settings& settings,
                                  const WatchPlan& plan) const {
  const auto index = any() ? exchange_->find(witness) : std::nullopt;
  if (!index) return "";
  std::vector<std::string> ours, unwatched;
  for (std::size_t s = 0; s < settings.sites.size(); ++s) {
    if (settings.sites[s].is_watcher) continue;
    ours.push_back(settings.sites[s].name);
    for (const ControllerIndex it :
         controllers_of(plan, Subject{Scope::site, static_cast<std::uint32_t>(s)})) {
      if (exchange_->heard_through(it) != witness) continue;
      unwatched.push_back(settings.sites[s].name);
      break;
    }
  }
  std::vector<std::string> led;
  for (const std::string& name : exchange_->duties(*index)) {
    const bool here = std::find(ours.begin(), ours.end(), name) != ours.end();
    (here ? led : unwatched).push_back(name);
  }
  std::string text;
  if (!led.empty()) {
    text = "It was the first to tell of " + listed(led) + ". This watcher watches there, too.";
  }
  if (!unwatched.empty()) {
    text += std::string(text.empty() ? "" : " ") + "The tanks at " + listed(unwatched) +
            " are not being watched until it is back: this watcher does not hear them itself.";
  }
  const std::size_t named = exchange_->duties(*index).size();
  const std::size_t all = std::max<std::size_t>(exchange_->duties_in_all(*index), named);
  if (all > named) text += " It watched over " + std::to_string(all - named) + " more sites.";
  return text;
}

}  // namespace ebbwatch
