// The desk against carriers and a store that know the truth: what was decided, what was committed,
// what really arrived. Every act is one step of a model; copying a model branches the world.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "notices/desk_bench.h"
#include "notices/notice.h"

namespace ebbwatch::sample {

enum class Act : std::uint8_t {
  lose,            ///< A loss is decided.
  revise,          ///< Its cause changes.
  recover,         ///< Contact is back.
  acknowledge,     ///< Somebody takes it on.
  commit,          ///< What was decided becomes durable and may be sent.
  send,            ///< Attempts start.
  deliver,         ///< The oldest attempt arrives and says so.
  deliver_newest,  ///< The newest one does.
  fail,            ///< The oldest does not arrive: later.
  refuse,          ///< The oldest does not arrive: never.
  lose_answer,     ///< The oldest arrives, its answer does not.
  lose_message,    ///< Neither arrives.
  crash,           ///< Killed and restarted; nothing under way arrived.
  crash_after,     ///< Killed and restarted; everything under way had arrived.
  wait,            ///< Time passes to the next deadline.
};
inline constexpr Act all_acts[] = {
    Act::lose,  Act::revise,      Act::recover, Act::acknowledge,    Act::commit,
    Act::send,  Act::deliver,     Act::fail,    Act::refuse,         Act::lose_answer,
    Act::crash, Act::crash_after, Act::wait,    Act::deliver_newest, Act::lose_message};
const char* name(Act act);

class DeskModel {
 public:
  /// @param tanks how many outages may run at once: 1 or 2.
  /// @param summary_above 1 or 5, as in KeyholderSettings.
  explicit DeskModel(std::uint64_t seed, std::uint32_t tanks = 1, std::uint32_t summary_above = 5);

  bool can(Act act, std::uint32_t tank = 0) const;
  /// @pre can(act, tank). Checks what must always hold; see problems().
  void do_it(Act act, std::uint32_t tank = 0);
  /// All faults end; runs until nothing is left to do and checks what must then have come about.
  void heal();
  const std::vector<std::string>& problems() const { return problems_; }
  std::string story() const { return story_; }
  std::size_t received() const { return receipts_.size(); }

 private:
  struct Outage {
    bool running = false, ever_acknowledged = false, revised = false;
    WallTime acknowledged_until;
  };
  struct World {
    std::map<OutageId, Outage> outages;
    std::map<std::uint32_t, OutageId> of_tank;  ///< Running ones.
    OutageId next = 1;
  };
  struct Receipt {
    std::string notice, keyholder, notifier, group;
    OutageId outage = 0;
    DecisionKind kind = DecisionKind::loss;
    bool combined = false;
  };

  void decide(DecisionKind kind, std::uint32_t tank, OutageId outage);
  void keep(Changes changes);
  void commit_all();
  void start_attempts();
  void answer(std::size_t index, Outcome::Kind kind, bool arrives);
  void arrive(const Send& attempt);
  void arrive(const Send& attempt, const std::string& id, bool combined);
  void restart(bool arrived);
  void pass(WallTime until);
  void check_start(const Send& attempt);
  void check_start(const std::string& id);
  void check_end(OutageId id, const Outage& outage);
  bool has_receipt(OutageId id, const std::string& keyholder, DecisionKind kind) const;
  bool has_dead_letter(OutageId id, const std::string& keyholder) const;
  bool is_acknowledged(const Outage& outage) const { return now_ < outage.acknowledged_until; }
  void wrong(const std::string& what) { problems_.push_back(what); }

  const Settings* settings_;
  const WatchPlan* plan_;
  CountingEntropy entropy_;
  NoticeDesk desk_;
  MemoryRows rows_;
  std::vector<Changes> pending_;
  World world_, committed_world_;
  WallTime now_ = two_o_clock;
  std::uint32_t tanks_;
  std::vector<Send> flying_;
  std::vector<Receipt> receipts_;
  std::vector<std::string> problems_;
  std::string story_;
};

}  // namespace ebbwatch::sample
