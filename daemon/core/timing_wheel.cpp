#include "core/timing_wheel.h"

#include <algorithm>
#include <bit>

namespace ebbwatch {

TimingWheel::TimingWheel(std::uint32_t entries, Instant now) : nodes_(entries) {
  heads_.fill(none);
  cursor_ = now.us < 0 ? 0 : static_cast<std::uint64_t>(now.us) >> tick_bits;
}

std::uint64_t TimingWheel::tick_of(Instant at) const {
  const auto tick = at.us < 0 ? 0 : static_cast<std::uint64_t>(at.us) >> tick_bits;
  return std::max(tick, cursor_);
}

std::uint16_t TimingWheel::place(std::uint64_t tick) const {
  const std::uint64_t differing = tick ^ cursor_;
  const int level = differing == 0 ? 0 : (63 - std::countl_zero(differing)) / level_bits;
  const auto digit = (tick >> (level * level_bits)) & (slots - 1);
  return static_cast<std::uint16_t>(static_cast<std::uint64_t>(level) * slots + digit);
}

void TimingWheel::link(std::uint32_t entry) {
  Node& node = nodes_[entry];
  node.tick = tick_of(node.due);
  node.slot = place(node.tick);
  node.before = none;
  node.after = heads_[node.slot];
  if (node.after != none) nodes_[node.after].before = entry;
  heads_[node.slot] = entry;
  filled_[node.slot / slots] |= 1ULL << (node.slot % slots);
  node.linked = true;
}

void TimingWheel::unlink(std::uint32_t entry) {
  Node& node = nodes_[entry];
  if (node.before != none) {
    nodes_[node.before].after = node.after;
  } else {
    heads_[node.slot] = node.after;
  }
  if (node.after != none) nodes_[node.after].before = node.before;
  if (heads_[node.slot] == none) filled_[node.slot / slots] &= ~(1ULL << (node.slot % slots));
  node.linked = false;
}

void TimingWheel::arm(std::uint32_t entry, Instant due) {
  Node& node = nodes_[entry];
  node.due = due;
  if (due.is_never()) {
    if (node.linked) unlink(entry);
    return;
  }
  if (node.linked) {
    if (tick_of(due) >= node.tick) return;  // The slot that holds it comes up early enough.
    unlink(entry);
  }
  link(entry);
}

std::optional<std::uint16_t> TimingWheel::first_slot() const {
  for (int level = 0; level < levels; ++level) {
    const auto bits = filled_[static_cast<std::size_t>(level)];
    if (bits != 0) {
      // Within a level all entries lie ahead of the cursor, so the lowest digit is the earliest.
      return static_cast<std::uint16_t>(level * static_cast<int>(slots) + std::countr_zero(bits));
    }
  }
  return std::nullopt;
}

std::uint64_t TimingWheel::slot_start(std::uint16_t slot) const {
  const int level = slot / static_cast<int>(slots);
  const std::uint64_t digit = slot % slots;
  const int shift = level * level_bits;
  const std::uint64_t above = cursor_ >> (shift + level_bits) << (shift + level_bits);
  return above | (digit << shift);
}

void TimingWheel::spread(std::uint16_t slot) {
  std::uint32_t entry = heads_[slot];
  heads_[slot] = none;
  filled_[slot / slots] &= ~(1ULL << (slot % slots));
  while (entry != none) {
    const std::uint32_t after = nodes_[entry].after;
    link(entry);
    entry = after;
  }
}

std::uint32_t TimingWheel::earliest_in(std::uint16_t slot) const {
  std::uint32_t best = none;
  for (std::uint32_t entry = heads_[slot]; entry != none; entry = nodes_[entry].after) {
    if (best == none || nodes_[entry].due < nodes_[best].due ||
        (nodes_[entry].due == nodes_[best].due && entry < best)) {
      best = entry;
    }
  }
  return best;
}

std::optional<TimingWheel::Due> TimingWheel::pop(Instant until) {
  while (const auto slot = first_slot()) {
    const std::uint64_t start = slot_start(*slot);
    if (start > tick_of(until)) return std::nullopt;
    if (*slot >= slots) {
      cursor_ = std::max(cursor_, start);
      spread(*slot);
      continue;
    }
    const std::uint32_t entry = earliest_in(*slot);
    Node& node = nodes_[entry];
    if (tick_of(node.due) > node.tick) {
      // Every entry of this slot was pushed back to a later one.
      cursor_ = std::max(cursor_, start);
      spread(*slot);
      continue;
    }
    if (node.due > until) return std::nullopt;
    cursor_ = std::max(cursor_, start);
    const Due due{entry, node.due};
    unlink(entry);
    node.due = Instant::never();
    return due;
  }
  return std::nullopt;
}

Instant TimingWheel::next() const {
  const auto slot = first_slot();
  if (!slot) return Instant::never();
  const Instant start{static_cast<std::int64_t>(slot_start(*slot) << tick_bits)};
  if (*slot >= slots) return start;
  const Node& node = nodes_[earliest_in(*slot)];
  // All pushed back: others may come before them.
  return tick_of(node.due) > node.tick ? start : std::max(start, node.due);
}

}  // namespace ebbwatch
