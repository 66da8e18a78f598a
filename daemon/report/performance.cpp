#include "report/performance.h"

#include <algorithm>
#include <functional>
#include <map>
#include <numeric>

namespace ebbwatch::report {
namespace {

constexpr Span bin_length = Span::of_min(10);
constexpr std::size_t ten = 10, loud_from = 4;

PersonLoad load_of(const std::string& person, const std::vector<WallTime>& times,
                   const Record& record) {
  PersonLoad load;
  load.person = person;
  load.messages = times.size();
  const double weeks = (record.until - record.from).seconds() / Span::of_days(7).seconds();
  if (weeks > 0) load.per_week = static_cast<double>(times.size()) / weeks;
  const auto bins = static_cast<std::size_t>((record.until - record.from).us / bin_length.us + 1);
  Bins counts(bins, 0);
  for (const WallTime at : times) {
    const auto bin = static_cast<std::size_t>((at - record.from).us / bin_length.us);
    ++counts[std::min(bin, bins - 1)];
  }
  load.floods = find_floods(counts, person_rule);
  load.most_in_ten_minutes = load.floods.peak;
  return load;
}

std::vector<PersonLoad> loads_of(const Record& record) {
  std::map<std::string, std::vector<WallTime>> told;
  for (const Outage& outage : record.outages) {
    for (const Notice& notice : outage.notices) {
      if (notice.created_at < record.from || notice.created_at >= record.until) continue;
      told[notice.person].push_back(notice.created_at);
    }
  }
  std::vector<PersonLoad> loads;
  for (const auto& [person, times] : told) loads.push_back(load_of(person, times, record));
  std::stable_sort(loads.begin(), loads.end(), [](const PersonLoad& a, const PersonLoad& b) {
    return a.messages > b.messages;
  });
  return loads;
}

void add_answers(const Record& record, Performance& out) {
  std::vector<Span> waits;
  for (const Outage& outage : record.outages) {
    if (outage.notices.empty() || outage.decided_at < record.from) continue;
    ++out.asked;
    if (outage.acknowledged_at) waits.push_back(*outage.acknowledged_at - outage.decided_at);
  }
  out.acknowledged = waits.size();
  if (waits.empty()) return;
  std::sort(waits.begin(), waits.end());
  out.acknowledged_middle = waits[(waits.size() - 1) / 2];
  out.acknowledged_longest = waits.back();
}

}  // namespace

Floods find_floods(const Bins& bins, FloodRule rule) {
  Floods out;
  bool in_flood = false;
  for (std::size_t i = 0; i < bins.size(); ++i) {
    out.peak = std::max(out.peak, bins[i]);
    const bool above = bins[i] > rule.begins_above;
    if (above) ++out.bins_above;
    if (!in_flood && above) out.floods.push_back({i, i, 0});
    in_flood = in_flood ? bins[i] >= rule.ends_below : above;
    if (!in_flood) continue;
    out.floods.back().last_bin = i;
    out.floods.back().alarms += bins[i];
    out.alarms_inside += bins[i];
    ++out.bins_in_flood;
  }
  return out;
}

double share_of_greatest(std::vector<std::size_t> counts, std::size_t many) {
  std::sort(counts.begin(), counts.end(), std::greater<>());
  const auto sum = [&](std::size_t n) {
    const auto end = counts.begin() + static_cast<std::ptrdiff_t>(std::min(n, counts.size()));
    return std::accumulate(counts.begin(), end, std::size_t{0});
  };
  const std::size_t all = sum(counts.size());
  return all == 0 ? 0 : static_cast<double>(sum(many)) / static_cast<double>(all);
}

Performance performance_of(const Record& record) {
  Performance out;
  out.people = loads_of(record);
  out.unsteady = record.unsteady.size();
  add_answers(record, out);
  std::map<std::string, std::size_t> by_subject;
  for (const Outage& outage : record.outages) {
    if (outage.notices.empty() || outage.decided_at < record.from) continue;
    ++out.alarms;
    if (outage.marked_false) ++out.marked_false;
    ++by_subject[outage.scope + " " + outage.name];
    const WallTime ended = outage.returned.value_or(record.until);
    if (outage.returned && ended - outage.decided_at <= brief_at_most) ++out.brief;
    if (ended - outage.decided_at > standing_from) ++out.standing;
  }
  std::vector<std::size_t> counts;
  for (const auto& [subject, count] : by_subject) {
    counts.push_back(count);
    if (out.alarms >= loud_from && count * 2 > out.alarms) out.loudest = subject;
  }
  out.share_of_ten = share_of_greatest(counts, ten);
  return out;
}

}  // namespace ebbwatch::report
