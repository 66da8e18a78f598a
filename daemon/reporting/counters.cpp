#include "reporting/counters.h"

namespace ebbwatch {

std::uint64_t& Counters::count(std::string_view name) {
  const auto found = counts_.find(name);
  if (found != counts_.end()) return found->second;
  // Room for "other" itself, which may be the last name to come.
  if (counts_.size() + 1 >= names_max) return counts_["other"];
  return counts_[std::string(name)];
}

std::uint64_t Counters::value(std::string_view name) const {
  const auto found = counts_.find(name);
  return found == counts_.end() ? 0 : found->second;
}

}  // namespace ebbwatch
