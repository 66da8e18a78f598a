#include "sim/node.h"

#include <algorithm>

namespace ebbwatch::sim {
namespace {

constexpr std::int64_t alive_for = 3;

}  // namespace

std::string watcher_name(std::uint32_t index) {
  return "w" + std::to_string(index);
}

Node::Node(const Settings& settings, std::uint32_t index, Span clock_error)
    : settings_(settings), index_(index), clock_error_(clock_error) {}

WatchPlan Node::plan() const {
  WatchPlan plan;
  plan.watcher = watcher_name(index_);
  const auto add = [&](const std::string& id, Span interval) {
    const auto position = static_cast<std::uint32_t>(plan.controllers.size());
    plan.controllers.push_back({id, TankIndex{position}, interval, Supply::mains, {}, {}});
    plan.tanks.push_back({id, SiteIndex{position}, {ControllerIndex{position}}, {}, {}});
    SitePlan site;
    site.id = id;
    site.tanks.push_back(TankIndex{position});
    plan.sites.push_back(std::move(site));
  };
  for (std::uint32_t i = 0; i < settings_.sites; ++i) {
    add("site" + std::to_string(i), settings_.interval);
  }
  for (std::uint32_t i = 0; i < settings_.watchers; ++i) {
    if (i == index_) continue;
    add("watcher-" + watcher_name(i), settings_.every);
    plan.witnesses.push_back(watcher_name(i));
  }
  plan.uplink_references = {"a"};
  plan.uplink_quorum = 1;
  plan.asks_witnesses = true;
  plan.witness_limit = settings_.limit;
  return plan;
}

void Node::start(Instant now) {
  const WatchPlan watched = plan();
  std::vector<WitnessPartner> partners;
  std::vector<std::string> controllers;
  for (const ControllerPlan& one : watched.controllers) controllers.push_back(one.id);
  for (std::uint32_t i = 0; i < settings_.watchers; ++i) {
    if (i == index_) continue;
    const auto beat = ControllerIndex{settings_.sites + partner(i).value};
    partners.push_back({watcher_name(i), true, false, beat});
  }
  exchange_ = std::make_unique<Exchange>(watched.watcher, partners, controllers,
                                         ExchangeRules{settings_.limit, settings_.every});
  telling_ = std::make_unique<TellingOrder>(watched.watcher, settings_.deputy_after);
  telling_->restore(stored_numbers_);
  started_ = now;
  for (const WitnessPartner& one : partners) telling_->alive(one.name, true, own(now));
  watch_ = lived_ ? std::make_unique<Watch>(watched, own(died_), stored_)
                  : std::make_unique<Watch>(watched, own(now));
  lived_ = true;
  for (const OutageRecord& record : watch_->state().outages) {
    if (record.closed || record.subject.scope > Scope::site) continue;
    std::vector<std::string> order;
    for (std::uint32_t i = 0; i < settings_.watchers; ++i) order.push_back(watcher_name(i));
    const std::string& place = watched.sites[record.subject.index].id;
    telling_->lost(record.id, {place, order}, record.since, own(now), called_.contains(record.id));
  }
  feed({own(now), WatcherStarted{}});
  act(now);
}

void Node::crash() {
  if (!runs()) return;
  stored_ = watch_->state();
  stored_numbers_ = telling_->numbers();
  watch_.reset();
  exchange_.reset();
  telling_.reset();
}

void Node::feed_all(const std::vector<Event>& events) {
  for (const Event& event : events) feed(event);
}

void Node::feed(const Event& event) {
  died_ = event.at - clock_error_;
  watch_->on(event, decisions_);
  const std::vector<Decision> decisions = std::move(decisions_);
  decisions_.clear();
  for (const Decision& decision : decisions) decided(decision);
  const bool trusted = watch_->uplink_trusted();
  if (trusted && !link_trusted_) exchange_->was_deaf_until(event.at);
  link_trusted_ = trusted;
  exchange_->set_link_works(trusted);
  questions_.clear();
  watch_->take_questions(questions_);
  if (questions_.empty()) return;
  std::vector<Event> events;
  exchange_->ask(questions_, event.at, events);
  feed_all(events);
}

void Node::decided(const Decision& decision) {
  if (decision.kind == DecisionKind::recovery) {
    telling_->closed(decision.outage, decision.at);
    if (Loss* loss = loss_of(decision.outage)) loss->closed = decision.at - clock_error_;
  }
  if (decision.kind != DecisionKind::loss || decision.subject.scope > Scope::site) return;
  // One controller, one tank, one site: the positions are the same.
  const std::uint32_t site = decision.subject.index;
  std::vector<std::string> order;
  for (std::uint32_t i = 0; i < settings_.watchers; ++i) order.push_back(watcher_name(i));
  const std::string& place = watch_->plan().sites[site].id;
  telling_->lost(decision.outage, {place, order}, decision.since, decision.at);
  losses_.push_back({site, decision.outage, telling_->name(decision.outage),
                     decision.at - clock_error_, Instant::never(), Instant::never()});
}

Loss* Node::loss_of(OutageId outage) {
  for (auto it = losses_.rbegin(); it != losses_.rend(); ++it) {
    if (it->outage == outage) return &*it;
  }
  return nullptr;
}

void Node::act(Instant) {
  for (const TellingAct& act : telling_->take_acts()) {
    if (act.kind == TellingAct::Kind::tell) {
      called_.insert(act.outage);
      // The first step of the list: one person by one way, unless another has reached them.
      if (act.delivered.empty()) waiting_.insert(act.outage);
    } else if (act.kind == TellingAct::Kind::hand_over) {
      called_.erase(act.outage);
      waiting_.erase(act.outage);
    } else if (act.kind == TellingAct::Kind::reached) {
      waiting_.erase(act.outage);
    }
  }
}

void Node::tick(bool reaches_people, Instant now) {
  feed({own(now), Tick{}});
  std::vector<Event> events;
  exchange_->tick(own(now), events);
  feed_all(events);
  for (std::uint32_t i = 0; i < exchange_->size(); ++i) {
    Instant heard = exchange_->last_heard({i});
    if (heard.is_never()) heard = own(started_);
    const bool alive =
        own(now) - heard <= settings_.every * alive_for && exchange_->link_works({i});
    telling_->alive(exchange_->name({i}), alive, own(now));
  }
  telling_->tick(own(now));
  act(now);
  if (reaches_people) {
    for (const OutageId outage : std::exchange(waiting_, {})) {
      const OutageRecord* record = watch_->outage(outage);
      if (record == nullptr || record->closed) continue;
      telling_->delivered(outage, {"loss/0 robin text"});
      if (Loss* loss = loss_of(outage)) {
        loss->told = now;
        loss->name = telling_->name(outage);
      }
    }
  }
  share(now);
}

void Node::share(Instant now) {
  std::vector<SharedOutage> views = telling_->views(own(now));
  std::string state;
  for (const SharedOutage& view : views) {
    state += view.name + (view.told ? "t" : "") + (view.closed ? "c" : "") + ";";
  }
  const bool news = state != shared_;
  shared_ = std::move(state);
  exchange_->set_outages(std::move(views));
  if (news) exchange_->hurry();
}

void Node::hear(std::uint32_t site, Instant now) {
  CheckIn check_in;
  check_in.controller = ControllerIndex{site};
  exchange_->heard(check_in.controller, own(now));
  feed({own(now), check_in});
}

void Node::link_checked(bool works, Instant now) {
  feed({own(now), UplinkResult{ReferenceIndex{0}, works}});
}

std::vector<Exchange::Request> Node::take_requests(Instant now) {
  return exchange_->take_requests(own(now));
}

void Node::learn(std::uint32_t from, const WitnessMessage& message, Instant now) {
  telling_->alive(watcher_name(from), message.link_works, own(now));
  telling_->learn(watcher_name(from), message.outages, own(now));
  act(now);
}

void Node::answered(std::uint32_t from, const WitnessMessage& answer, Instant now) {
  std::vector<Event> events;
  exchange_->answered(partner(from), answer, own(now), events);
  feed_all(events);
  learn(from, answer, now);
}

void Node::failed(std::uint32_t from, Instant now) {
  std::vector<Event> events;
  exchange_->failed(partner(from), own(now), events);
  feed_all(events);
}

WitnessMessage Node::serve(std::uint32_t from, const WitnessMessage& request, Instant now) {
  learn(from, request, now);
  share(now);
  std::vector<Event> events;
  WitnessMessage answer = exchange_->serve(partner(from), request, own(now), events);
  feed_all(events);
  return answer;
}

Contact Node::contact(std::uint32_t site) const {
  return watch_->contact(ControllerIndex{site});
}

std::size_t Node::outages_running() const {
  std::size_t count = 0;
  for (const OutageRecord& record : watch_->state().outages) count += record.closed ? 0 : 1;
  return count;
}

}  // namespace ebbwatch::sim
