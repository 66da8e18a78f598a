// The engine's part about witnesses: the core's questions to the exchange, the exchange's events to
// the core, and what people see of both. No I/O: witness_service.* carries the messages.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/watch.h"
#include "settings/settings.h"
#include "witness/exchange.h"

namespace ebbwatch {

class Witnessing {
 public:
  /// @param feed gives an event to the core; called from within every other call here.
  explicit Witnessing(std::function<void(const Event&)> feed) : feed_(std::move(feed)) {}

  /// The plan with what only a running watcher does. @pre no request is answered with positions of
  /// an earlier plan; witness_service.* goes by names.
  static WatchPlan live_plan(const Settings& settings);
  void use(const Settings& settings, const WatchPlan& plan);

  bool any() const { return exchange_ != nullptr && exchange_->size() > 0; }
  /// This watcher has heard the controller itself.
  void heard(ControllerIndex controller, Instant at);
  /// From `at` back nobody was listening.
  void was_deaf_until(Instant at);
  /// After every event of the core: passes its questions on.
  void after_event(Watch& watch, Instant now);
  void decided(const Decision& decision);
  void tick(Instant now);
  Instant next_deadline() const;
  /// Outages as partners should know them; `news`: at once.
  void set_outages(std::vector<SharedOutage> views, bool news);

  /// For the carrier. An unknown name changes nothing.
  std::vector<Exchange::Request> take_requests(Instant now);
  void answered(const std::string& from, const WitnessMessage& answer, Instant now);
  void failed(const std::string& from, Instant now);
  /// Empty: `from` is no witness of ours.
  std::optional<WitnessMessage> serve(const std::string& from, const WitnessMessage& request,
                                      Instant now);

  /// @pre any().
  const Exchange& exchange() const { return *exchange_; }
  /// Who hears the controller that this watcher does not hear.
  std::vector<std::string> hearers(const Watch& watch, ControllerIndex controller) const;
  /// What a witness did before it was lost, and which sites nobody watches until it is back.
  std::string duty_text(const std::string& witness, const Settings& settings,
                        const WatchPlan& plan) const;
  /// Exchange::heard_through().
  std::string heard_through(ControllerIndex controller) const {
    return any() ? exchange_->heard_through(controller) : std::string();
  }

 private:
  void feed_all(std::vector<Event>& events);
  void say_reachability(WitnessIndex witness, bool reachable, const std::string& why);

  std::function<void(const Event&)> feed_;
  std::unique_ptr<Exchange> exchange_;
  std::vector<ControllerIndex> questions_;
  std::vector<char> reachable_;
  bool link_was_trusted_ = true;
};

/// How a site's first teller and the others divide the work, for signs of life.
std::vector<std::string> duties_of(const Settings& settings);

}  // namespace ebbwatch
