// A few homes in a handful of lines, and the Watch's decisions as text, for tests of the core.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/watch.h"

namespace ebbwatch::test {

/// Builds plans: site, then its tanks, then their controllers.
class Plan {
 public:
  Plan();
  Plan& site(const std::string& id, const std::string& area = "", const std::string& provider = "");
  Plan& own_site(const std::string& id);
  Plan& tank(const std::string& id);
  Plan& controller(const std::string& id, double interval_s, Supply supply = Supply::mains);
  Plan& uplink(std::uint32_t quorum, std::vector<std::string> references, double every_s = 30);
  Plan& witness(const std::string& name);

  Detection detection;  ///< For everything added from now on.
  WatchPlan plan;
};

/// Feeds events and keeps what was decided.
class Scene {
 public:
  explicit Scene(WatchPlan plan);
  Scene(WatchPlan plan, double now_s, const WatchState& state);

  void feed(double at_s, decltype(Event::what) what);
  void hear(double at_s, const std::string& id, Power power = Power::unknown);
  void hear(double at_s, const std::string& id, std::uint64_t seq, double uptime_s,
            Power power = Power::mains);
  /// Each of `ids` every `every_s` from `from_s` (included) to `to_s` (not included), in time
  /// order, a millisecond apart.
  void hear_all(const std::vector<std::string>& ids, double from_s, double to_s, double every_s);
  /// A tick each second in [from, to].
  void tick(double from_s, double to_s);

  /// Decisions since the last call, one a line: "361 loss site elm undetermined".
  std::string told();
  const std::vector<Decision>& decisions() const { return decisions_; }
  ControllerIndex index(const std::string& id) const;
  Contact contact(const std::string& id) const { return watch.contact(index(id)); }

  Watch watch;

 private:
  std::vector<Decision> decisions_;
  std::size_t told_ = 0;
};

}  // namespace ebbwatch::test
