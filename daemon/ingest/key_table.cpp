#include "ingest/key_table.h"

#include <algorithm>
#include <string_view>

namespace ebbwatch {
namespace {

std::uint64_t first_bytes(const Sha256& hash) {
  std::uint64_t out = 0;
  for (std::size_t i = 0; i < 8; ++i) out = out << 8 | hash[i];
  return out;
}

std::string_view as_text(const Sha256& hash) {
  return {reinterpret_cast<const char*>(hash.data()), hash.size()};
}

}  // namespace

KeyTable::KeyTable(const std::vector<KeyRow>& rows) {
  for (const auto& row : rows) {
    const auto bytes = from_hex(row.key_hash);
    if (!bytes || bytes->size() != Sha256{}.size()) continue;
    std::copy(bytes->begin(), bytes->end(), by_controller_[row.controller].begin());
    macs_.erase(row.controller);
    if (const auto mac = MacState::from_hex(row.mac_state)) macs_.emplace(row.controller, *mac);
  }
  for (const auto& [controller, hash] : by_controller_) {
    by_hash_.emplace(first_bytes(hash), &controller);
  }
}

const std::string* KeyTable::controller_of(const Sha256& hash) const {
  const std::string* found = nullptr;
  const auto [first, last] = by_hash_.equal_range(first_bytes(hash));
  for (auto at = first; at != last; ++at) {
    const Sha256& held = by_controller_.at(*at->second);
    if (equal_in_constant_time(as_text(held), as_text(hash))) found = at->second;
  }
  return found;
}

const MacState* KeyTable::mac_of(std::string_view controller) const {
  const auto found = macs_.find(controller);
  return found == macs_.end() ? nullptr : &found->second;
}

const Sha256* KeyTable::hash_of(const std::string& controller) const {
  const auto found = by_controller_.find(controller);
  return found == by_controller_.end() ? nullptr : &found->second;
}

}  // namespace ebbwatch
