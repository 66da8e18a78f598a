#include "app/stand_in_book.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "notices/duty.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

constexpr Span longest = Span::of_days(366);

std::optional<Error> unknown(const Settings& settings, const std::string& keyholder) {
  if (find_keyholder(settings, keyholder) != nullptr) return std::nullopt;
  std::string known;
  for (const auto& one : settings.keyholders) known += (known.empty() ? "" : ", ") + one.id;
  return Error{Errc::not_found,
               "There is no keyholder '" + keyholder + "'; the configuration has " + known + "."};
}

}  // namespace

Result<StandInRow> StandInBook::check(const StandInWish& wish, const Settings& settings,
                                      WallTime now) const {
  if (const auto fault = unknown(settings, wish.absent)) return *fault;
  if (const auto fault = unknown(settings, wish.stand_in)) return *fault;
  const auto bad = [](const char* text) { return Error{Errc::bad_input, text}; };
  if (wish.absent == wish.stand_in) return bad("Nobody stands in for themselves.");
  if (!wish.until) return bad("Say for how long: --for 7d. A stand-in always has an end.");
  StandInRow row;
  row.absent = wish.absent;
  row.stand_in = wish.stand_in;
  row.since = wish.from.value_or(now);
  row.until = *wish.until;
  row.by = wish.by.empty() ? wish.absent : wish.by;
  if (row.until <= now) return bad("The end must be in the future.");
  if (row.until <= row.since) return bad("The end must be after the beginning.");
  if (row.until - now > longest) return bad("At most a year; change the call list for longer.");
  return row;
}

void StandInBook::put(const StandInRow& row) {
  (void)take(row.absent);
  rows_.push_back(row);
}

std::optional<StandInRow> StandInBook::take(const std::string& absent) {
  const auto found = std::find_if(rows_.begin(), rows_.end(),
                                  [&](const StandInRow& row) { return row.absent == absent; });
  if (found == rows_.end()) return std::nullopt;
  StandInRow row = *found;
  rows_.erase(found);
  row.ended = true;
  return row;
}

std::vector<StandInRow> StandInBook::take_ended(WallTime now) {
  std::vector<StandInRow> ended;
  for (const StandInRow& row : std::vector<StandInRow>(rows_)) {
    if (row.until <= now) ended.push_back(*take(row.absent));
  }
  return ended;
}

std::optional<WallTime> StandInBook::next_end() const {
  std::optional<WallTime> next;
  for (const StandInRow& row : rows_) {
    if (!next || row.until < *next) next = row.until;
  }
  return next;
}

DecisionRow stand_in_act(const StandInRow& row, const char* act, WallTime at) {
  DecisionRow out;
  out.at = at;
  out.kind = act;
  out.scope = "keyholder";
  out.subject = row.absent;
  out.json = boost::json::serialize(boost::json::object{{"at", to_rfc3339(at)},
                                                        {"decision", act},
                                                        {"scope", out.scope},
                                                        {"subject", row.absent},
                                                        {"stand_in", row.stand_in},
                                                        {"from", to_rfc3339(row.since)},
                                                        {"until", to_rfc3339(row.until)},
                                                        {"by", row.by}});
  return out;
}

}  // namespace ebbwatch
