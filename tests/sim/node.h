// One watcher of the simulated world: the real core, the real talk with witnesses and the real
// rules of who tells, joined as the daemon joins them; the network and people are the world's.
#pragma once

#include <memory>
#include <set>
#include <string>
#include <vector>

#include "core/watch.h"
#include "witness/exchange.h"
#include "witness/telling.h"

namespace ebbwatch::sim {

struct Settings {
  std::uint32_t watchers = 3;
  std::uint32_t sites = 50;
  Span interval = Span::of_s(60);
  Span limit = Span::of_s(10);
  Span every = Span::of_s(30);
  Span deputy_after = Span::of_min(2);
};

std::string watcher_name(std::uint32_t index);

/// One loss that a node confirmed, and what became of it.
struct Loss {
  std::uint32_t site = 0;
  OutageId outage = 0;
  std::string name;
  Instant confirmed;  ///< On the world's clock, as all times here.
  Instant told = Instant::never();
  Instant closed = Instant::never();
};

class Node {
 public:
  /// @param clock_error its own clock is ahead of the world's by this much.
  Node(const Settings& settings, std::uint32_t index, Span clock_error);

  void start(Instant now);
  /// Nothing survives but what the store would hold.
  void crash();
  bool runs() const { return watch_ != nullptr; }

  void hear(std::uint32_t site, Instant now);
  void link_checked(bool works, Instant now);
  /// Every second. @param reaches_people its notices arrive.
  void tick(bool reaches_people, Instant now);

  std::vector<Exchange::Request> take_requests(Instant now);
  void answered(std::uint32_t from, const WitnessMessage& answer, Instant now);
  void failed(std::uint32_t from, Instant now);
  WitnessMessage serve(std::uint32_t from, const WitnessMessage& request, Instant now);

  const std::vector<Loss>& losses() const { return losses_; }
  Contact contact(std::uint32_t site) const;
  std::size_t outages_running() const;

 private:
  Instant own(Instant now) const { return now + clock_error_; }
  WitnessIndex partner(std::uint32_t node) const { return {node < index_ ? node : node - 1}; }
  void feed(const Event& event);
  void feed_all(const std::vector<Event>& events);
  void decided(const Decision& decision);
  void act(Instant now);
  void learn(std::uint32_t from, const WitnessMessage& message, Instant now);
  void share(Instant now);
  WatchPlan plan() const;
  Loss* loss_of(OutageId outage);

  Settings settings_;
  std::uint32_t index_;
  Span clock_error_;
  std::unique_ptr<Watch> watch_;
  std::unique_ptr<Exchange> exchange_;
  std::unique_ptr<TellingOrder> telling_;
  WatchState stored_;
  TellingOrder::Numbers stored_numbers_;
  std::set<OutageId> called_;   ///< The desk has, or had, calls for these.
  std::set<OutageId> waiting_;  ///< To be told as soon as people can be reached.
  bool lived_ = false;
  bool link_trusted_ = true;
  Instant started_;
  Instant died_;
  std::vector<Loss> losses_;
  std::vector<Decision> decisions_;
  std::vector<ControllerIndex> questions_;
  std::string shared_;
};

}  // namespace ebbwatch::sim
