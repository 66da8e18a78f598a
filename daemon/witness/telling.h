// Who tells: of several watchers that confirmed the same loss, the first of an order that is alive.
// A deputy tells when it has not learned within `deputy_after` that one before it has reached
// somebody; when the one that tells is lost, the next takes over with all that was done. Pure: what
// partners say and the time in, acts out.
//
// What is guaranteed: told at least once by some watcher that confirmed it and can reach people.
// Not that it is told only once: watchers that cannot talk to each other may both tell. Then both
// use the same name of the outage, made from the place and a number that all of them count, and the
// later in the order stands back as soon as they hear of each other.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"
#include "witness/message.h"

namespace ebbwatch {

/// What the watcher must do now.
struct TellingAct {
  enum class Kind : std::uint8_t {
    tell,         ///< Call people, but not by the ways that `delivered` lists.
    hand_over,    ///< `by` tells now: say nothing more of it, not even its end.
    acknowledge,  ///< `by` has taken it on, `ago` before now, with another watcher.
    put_away,     ///< It was shelved with another watcher, for `rest`.
    reached,      ///< Another has reached those in `delivered`: do not reach them again.
  };
  Kind kind = Kind::tell;
  OutageId outage = 0;
  std::string by;
  std::vector<std::string> delivered;
  Span ago, rest;
};

class TellingOrder {
 public:
  TellingOrder(std::string own_name, Span deputy_after);

  /// A shared place: the order of those that tell of it.
  struct Place {
    std::string id;
    std::vector<std::string> order;
  };

  /// The core confirmed the loss. `told`: people were told by this watcher in an earlier life.
  void lost(OutageId outage, const Place& place, Instant since, Instant now, bool told = false);
  /// It is over here.
  void closed(OutageId outage, Instant now);
  /// Somebody took it on here.
  void acknowledged(OutageId outage, const std::string& by, Instant now);
  void acknowledgement_ran_out(OutageId outage);
  /// Shelved here until then; empty: not any more.
  void put_away(OutageId outage, std::optional<Instant> until);
  /// Notices of it that have arrived from here.
  void delivered(OutageId outage, std::vector<std::string> ways);

  /// Whether another watcher runs and can reach people.
  void alive(const std::string& watcher, bool is_alive, Instant now);
  void learn(const std::string& from, const std::vector<SharedOutage>& views, Instant now);
  void tick(Instant now);
  Instant next_deadline() const;

  std::vector<TellingAct> take_acts();
  /// What partners should know.
  std::vector<SharedOutage> views(Instant now) const;

  /// "elm-street-5"; empty: not shared.
  std::string name(OutageId outage) const;
  std::optional<OutageId> find(const std::string& name) const;
  /// Who tells of it, when it is somebody else; empty: this one, nobody yet, or not shared.
  std::string teller(OutageId outage) const;
  bool tells(OutageId outage) const;
  std::size_t size() const { return shared_.size(); }

  /// Numbers given so far, for the store: the highest of each place, and that of each outage.
  struct Numbers {
    std::map<std::string, std::uint32_t> of_place;
    std::map<OutageId, std::uint32_t> of_outage;
    friend bool operator==(const Numbers&, const Numbers&) = default;
  };
  const Numbers& numbers() const { return numbers_; }
  /// From an earlier life. Before the first lost().
  void restore(Numbers numbers) { numbers_ = std::move(numbers); }

 private:
  enum class Role : std::uint8_t { waits, tells, stands_by };
  struct Shared {
    Place place;
    std::uint32_t number = 0;
    Instant since;
    Role role = Role::waits;
    std::string teller;
    Instant decide_at = Instant::never();
    Instant closed_at = Instant::never();
    std::vector<std::string> here;
    std::set<std::string> elsewhere;
    std::string taken_by;
    Instant taken_at;
    std::optional<Instant> put_away_until;
  };
  struct Told {  // by a partner, of an outage that may not be confirmed here
    SharedOutage view;
    Instant at;
  };

  std::size_t ahead(const Shared& shared) const;
  std::size_t rank(const Shared& shared, const std::string& watcher) const;
  bool forsaken(const Shared& shared, Instant now) const;
  void decide(OutageId outage, Shared& shared, Instant now);
  void tell(OutageId outage, Shared& shared);
  void take_over(OutageId outage, Shared& shared, const std::string& from, const SharedOutage& view,
                 Instant now);
  void take_acknowledgement(OutageId outage, Shared& shared, const SharedOutage& view, Instant now);
  void number_of(OutageId outage, Shared& shared, std::uint32_t number);
  SharedOutage view_of(const Shared& shared, Instant now) const;

  std::string own_;
  Span deputy_after_;
  std::map<OutageId, Shared> shared_;
  std::map<std::string, std::map<std::string, Told>> told_;  ///< By place, by watcher.
  std::map<std::string, bool> alive_;
  Numbers numbers_;
  std::vector<TellingAct> acts_;
};

}  // namespace ebbwatch
