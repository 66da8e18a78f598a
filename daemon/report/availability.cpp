#include "report/availability.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

namespace ebbwatch::report {

std::vector<Stretch> joined(std::vector<Stretch> stretches, Stretch within) {
  std::sort(stretches.begin(), stretches.end(),
            [](const Stretch& a, const Stretch& b) { return a.from < b.from; });
  std::vector<Stretch> out;
  for (Stretch one : stretches) {
    one.from = std::max(one.from, within.from);
    one.until = std::min(one.until, within.until);
    if (one.from >= one.until) continue;
    if (!out.empty() && one.from <= out.back().until) {
      out.back().until = std::max(out.back().until, one.until);
    } else {
      out.push_back(one);
    }
  }
  return out;
}

std::vector<Stretch> less(const std::vector<Stretch>& all, const std::vector<Stretch>& without) {
  std::vector<Stretch> out;
  for (Stretch rest : all) {
    for (const Stretch& hole : without) {
      if (hole.until <= rest.from || hole.from >= rest.until) continue;
      if (hole.from > rest.from) out.push_back({rest.from, hole.from});
      rest.from = std::max(rest.from, hole.until);
    }
    if (rest.from < rest.until) out.push_back(rest);
  }
  return out;
}

Span length(const std::vector<Stretch>& stretches) {
  Span sum;
  for (const Stretch& one : stretches) sum += one.until - one.from;
  return sum;
}

std::optional<double> TankTime::availability() const {
  if (watched <= Span{}) return std::nullopt;
  return 1 - static_cast<double>(lost.us) / static_cast<double>(watched.us);
}

std::vector<TankTime> tank_times(const Record& record) {
  std::vector<TankTime> times;
  for (const Tank& tank : record.tanks) {
    TankTime& time = times.emplace_back();
    time.tank = tank.id;
    if (!tank.watched_from || *tank.watched_from >= record.until) continue;
    const Stretch whole{std::max(record.from, *tank.watched_from), record.until};
    const auto gaps = joined(record.gaps, whole);
    std::vector<Stretch> lost;
    for (const Outage& outage : record.outages) {
      if (std::find(outage.tanks.begin(), outage.tanks.end(), tank.id) == outage.tanks.end()) {
        continue;
      }
      const Stretch gone{outage.since, outage.returned.value_or(record.until)};
      if (joined({gone}, whole).empty()) continue;
      ++time.outages;
      lost.push_back(gone);
    }
    time.lost_stretches = less(joined(std::move(lost), whole), gaps);
    time.unwatched = length(gaps);
    time.watched = whole.until - whole.from - time.unwatched;
    time.lost = length(time.lost_stretches);
  }
  return times;
}

std::string percent_text(std::optional<double> share) {
  if (!share) return "-";
  constexpr double steps = 100'000;
  // What arithmetic made 0.99986999999 of 0.99987 is still 0.99987.
  const double floored = std::floor(*share * steps + 1e-6) / steps;
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.3f %%", floored * 100);
  return text.data();
}

}  // namespace ebbwatch::report
