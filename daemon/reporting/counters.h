// Named counts of what happened since the start, for status and metrics. One thread.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>

namespace ebbwatch {

class Counters {
 public:
  static constexpr std::size_t names_max = 1024;  ///< Further names share the count "other".

  /// The count of this name, made with 0 at first use. The reference stays valid as long as the
  /// Counters, so that a hot path looks a name up once.
  std::uint64_t& count(std::string_view name);
  void add(std::string_view name, std::uint64_t amount = 1) { count(name) += amount; }
  /// 0 for a name that was never counted.
  std::uint64_t value(std::string_view name) const;
  /// In the order of the names.
  const std::map<std::string, std::uint64_t, std::less<>>& all() const { return counts_; }

 private:
  std::map<std::string, std::uint64_t, std::less<>> counts_;
};

}  // namespace ebbwatch
