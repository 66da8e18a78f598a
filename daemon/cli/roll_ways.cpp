// The part of the roll about the ways to people.
#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/value.hpp>

#include "cli/roll.h"
#include "cli/members.h"
#include "core/wording.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

bool is_true(const json::object& object, std::string_view key) {
  const json::value* found = object.if_contains(key);
  return found && found->is_bool() && found->get_bool();
}

std::string ago_or_never(const std::string& rfc3339, WallTime now) {
  const auto at = from_rfc3339(rfc3339);
  return at ? span_text(std::max(now - *at, Span{})) + " ago" : "never";
}

std::string way_text(const json::object& way, WallTime now) {
  const bool asked = member(way, "proven_by") == "answer";
  std::string what = member(way, "keyholder") + " by " + member(way, "notifier");
  what.resize(std::max<std::size_t>(what.size(), 28), ' ');
  const std::string proven = member(way, "proven_at"), done = asked ? "answered" : "delivered";
  std::string line =
      "  " + what + "  " + (proven.empty() ? "never " + done : done + " " + ago_or_never(proven, now));
  const bool more = asked && member(way, "delivered_at") != "";
  if (more) line += " (delivered " + ago_or_never(member(way, "delivered_at"), now) + ")";
  if (is_true(way, "overdue"))
    line += "\n      NOT PROVEN in time; run: ebbwatch drill --to " + member(way, "keyholder");
  return line + "\n";
}

std::string stand_ins_text(const json::object& status) {
  const json::value* all = status.if_contains("stand_ins");
  if (all == nullptr || !all->is_array() || all->get_array().empty()) return "";
  std::string out = "\nCalled in place of others:\n";
  for (const json::value& value : all->get_array()) {
    if (!value.is_object()) continue;
    const json::object& row = value.get_object();
    out += "  " + member(row, "stand_in") + " for " + member(row, "absent") + ", " +
           member(row, "from") + " to " + member(row, "until") + "\n";
  }
  return out;
}

}  // namespace

std::string ways_text(const json::object& status, WallTime now) {
  const json::value* ways = status.if_contains("ways");
  if (ways == nullptr || !ways->is_array() || ways->get_array().empty()) {
    return stand_ins_text(status);
  }
  std::string out = "\nWays to people, and when each was last proven:\n";
  for (const json::value& value : ways->get_array()) {
    if (value.is_object()) out += way_text(value.get_object(), now);
  }
  const json::value* found = status.if_contains("drill");
  if (found == nullptr || !found->is_object()) return out + stand_ins_text(status);
  const json::object& drill = found->get_object();
  const std::string answered = member(drill, "answered");
  return out + "  Last drill: " + member(drill, "outage") + ", " +
         ago_or_never(member(drill, "started_at"), now) + ", told " + member(drill, "told") +
         "; answered: " + (answered.empty() ? "nobody" : answered) +
         (member(drill, "state") == "over" ? "" : " so far") + "\n" + stand_ins_text(status);
}

}  // namespace ebbwatch
