// How often something may happen, as people write it: "1 per year", "3 per month".
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "core/result.h"

namespace ebbwatch {

struct Rate {
  enum class Per : std::uint8_t { day, week, month, year };
  std::uint32_t count = 1;  ///< 1 to 1000.
  Per per = Per::year;

  double per_year() const;
  friend constexpr bool operator==(const Rate&, const Rate&) = default;
};

/// "N per day", week, month or year; N from 1 to 1000. A year has 365 days, a month a twelfth of
/// it.
Result<Rate> parse_rate(std::string_view text);
std::string rate_text(const Rate& rate);

}  // namespace ebbwatch
