// Who may be called now: hours of keyholders and of call lists, and who stands in for whom. Pure.
//
// Hours decide whom an alarm reaches first, never whether it reaches anybody: where nobody is on
// duty, a high alarm goes to everybody on the list all the same (desk_rules.h).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/time.h"
#include "notices/call_list.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Null when there is none. Valid as long as the settings are.
const KeyholderSettings* find_keyholder(const Settings& settings, const std::string& id);

/// Whether any of these sets of hours covers the moment. No sets: always.
bool is_open(const Settings& settings, const std::vector<std::string>& hours, WallTime at);
/// The next moment after `at` at which that changes; empty when it does not within 400 days.
std::optional<WallTime> next_change(const Settings& settings, const std::vector<std::string>& hours,
                                    WallTime at);

/// The lists as they are used at this moment: a list outside its hours gives way to its
/// `otherwise`, and stays where it has none. Each once.
std::vector<std::string> lists_used(const Settings& settings, const std::vector<std::string>& lists,
                                    WallTime at);

class Duty {
 public:
  /// Both must outlive it.
  Duty(const Settings& settings, const std::vector<StandInRow>& stand_ins)
      : settings_(settings), stand_ins_(stand_ins) {}

  /// Who is called when the list says `keyholder`: who stands in at this moment, and who stands in
  /// for that one. Somebody who would stand in for themselves in the end is called themselves.
  std::string in_place_of(const std::string& keyholder, WallTime at) const;
  /// With who stands in; everybody once, with the ways of all their calls.
  std::vector<Call> with_stand_ins(const std::vector<Call>& calls, WallTime at) const;
  bool on_duty(const std::string& keyholder, WallTime at) const;
  /// Of with_stand_ins(), those on duty.
  std::vector<Call> present(const std::vector<Call>& calls, WallTime at) const;
  /// The first moment from `at` on at which anybody of these lists is on duty and their list is
  /// within its hours; empty: not within 400 days.
  std::optional<WallTime> first_present(const std::vector<std::string>& lists, WallTime at) const;

 private:
  const Settings& settings_;
  const std::vector<StandInRow>& stand_ins_;
};

}  // namespace ebbwatch
