#include "text/rate.h"

#include <array>
#include <charconv>

namespace ebbwatch {
namespace {

struct Unit {
  const char* name;
  double per_year;
};
// In the order of Rate::Per.
constexpr std::array<Unit, 4> units{
    {{"day", 365.0}, {"week", 365.0 / 7}, {"month", 12.0}, {"year", 1.0}}};
constexpr std::uint32_t count_max = 1000;
constexpr std::string_view between = " per ";

}  // namespace

double Rate::per_year() const {
  return count * units[static_cast<std::size_t>(per)].per_year;
}

Result<Rate> parse_rate(std::string_view text) {
  const Error wrong{Errc::bad_input, "\"" + std::string(text) +
                                         "\" is not of the form N per day, week, month or year"};
  Rate rate;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), rate.count);
  if (read.ec != std::errc{} || rate.count > count_max || rate.count == 0) return wrong;
  text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
  if (!text.starts_with(between)) return wrong;
  text.remove_prefix(between.size());
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (text != units[i].name) continue;
    rate.per = static_cast<Rate::Per>(i);
    return rate;
  }
  return wrong;
}

std::string rate_text(const Rate& rate) {
  return std::to_string(rate.count) + std::string(between) +
         units[static_cast<std::size_t>(rate.per)].name;
}

}  // namespace ebbwatch
