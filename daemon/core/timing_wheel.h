// Deadlines of many subjects, one each, where most deadlines are pushed back before they come due.
//
// A radix wheel: 64 slots on each of ten levels, a slot of level L being 64^L ticks of about one
// second. Chosen over a heap because a check-in then costs O(1): pushing a deadline back writes one
// number and leaves the entry where it is; when its slot comes up the entry moves on to where it
// belongs (amortised O(1)). A heap would sift at every check-in, or on every pop.
//
// Storage is sized once; nothing here allocates after construction.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

class TimingWheel {
 public:
  /// @param entries how many subjects there are; they are named 0..entries-1.
  /// @param now     deadlines before it count as due at once.
  TimingWheel(std::uint32_t entries, Instant now);

  /// Sets the deadline of an entry, replacing the one it had. never() disarms. O(1).
  void arm(std::uint32_t entry, Instant due);
  Instant due(std::uint32_t entry) const { return nodes_[entry].due; }

  struct Due {
    std::uint32_t entry = 0;
    Instant at;
  };
  /// Takes the next entry that is due at or before `until`, in order of (due, entry), and disarms
  /// it.
  std::optional<Due> pop(Instant until);

  /// A time not after the earliest deadline, close to it; never() when nothing is armed. It may be
  /// early after deadlines were pushed back: waking then is harmless and finds the next one.
  Instant next() const;

 private:
  static constexpr std::uint32_t none = 0xffffffffU;
  static constexpr int level_bits = 6;
  static constexpr int levels = 10;
  static constexpr std::uint32_t slots = 1U << level_bits;
  static constexpr int tick_bits = 20;  // 2^20 us: about a second

  struct Node {
    Instant due = Instant::never();
    std::uint64_t tick = 0;  // of the slot it lies in; may be earlier than that of `due`
    std::uint32_t before = none;
    std::uint32_t after = none;
    std::uint16_t slot = 0;
    bool linked = false;
  };

  std::uint64_t tick_of(Instant at) const;
  void link(std::uint32_t entry);
  void unlink(std::uint32_t entry);
  std::uint16_t place(std::uint64_t tick) const;
  std::optional<std::uint16_t> first_slot() const;
  std::uint64_t slot_start(std::uint16_t slot) const;
  void spread(std::uint16_t slot);
  std::uint32_t earliest_in(std::uint16_t slot) const;

  std::vector<Node> nodes_;
  std::array<std::uint32_t, levels * slots> heads_;
  std::array<std::uint64_t, levels> filled_{};  // one bit for each slot that holds an entry
  std::uint64_t cursor_ = 0;
};

}  // namespace ebbwatch
