#include "app/stored_decision.h"

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <map>

namespace ebbwatch {
namespace {

namespace json = boost::json;

std::string member(const json::object& from, const char* key) {
  const auto* value = from.if_contains(key);
  return value && value->is_string() ? std::string(value->get_string()) : std::string();
}

bool is_decision(const std::string& kind) {
  for (const char* one : {"loss", "recovery", "cause_revised", "watch_gap", "unsteady", "steady",
                          "reading_alarm", "reading_normal"}) {
    if (kind == one) return true;
  }
  return false;
}

}  // namespace

StoredDecision read_decision(const DecisionRow& row) {
  StoredDecision told;
  told.kind = row.kind;
  told.scope = row.scope;
  told.subject = row.subject;
  told.at = told.since = row.at;
  told.outage = row.outage;
  told.act = !is_decision(row.kind);
  boost::system::error_code error;
  const auto value = json::parse(row.json, error);
  const auto* object = error ? nullptr : value.if_object();
  if (object == nullptr) return told;
  told.cause = member(*object, "cause");
  told.by = member(*object, "by");
  told.text = member(*object, told.kind == note_kind ? "text" : "reason");
  if (const auto* sure = object->if_contains("confidence"); sure && sure->is_number()) {
    told.confidence = sure->to_number<double>();
  }
  if (const auto* since = object->if_contains("since_s"); since && since->is_number()) {
    told.since = WallTime{Span::of_seconds(since->to_number<double>()).us};
  }
  if (const auto* evidence = object->if_contains("evidence"); evidence && evidence->is_array()) {
    for (const auto& one : evidence->get_array()) {
      if (one.is_string()) told.evidence.emplace_back(one.get_string());
    }
  }
  return told;
}

std::string decision_words(const std::string& kind) {
  static const std::map<std::string, std::string> table = {
      {"loss", "Loss"},
      {"recovery", "Recovery"},
      {"cause_revised", "Cause revised"},
      {"watch_gap", "Gap in the watching"},
      {"unsteady", "Unsteady"},
      {"steady", "Steady again"},
      {"reading_alarm", "Reading out of limits"},
      {"reading_normal", "Reading normal again"},
      {note_kind, "Note"},
      {false_kind, "Marked as a false alarm"},
      {true_kind, "Marked as true after all"},
      {"shelved", "Shelved"},
      {"unshelved", "Taken off the shelf"},
      {"shelf_ended", "Time on the shelf over"},
      {"out_of_service", "Out of service"},
      {"in_service", "In service again"},
      {"drill", "Drill begun"},
      {"drill_answered", "Drill answered"},
      {"drill_ended", "Drill ended"}};
  const auto found = table.find(kind);
  return found == table.end() ? kind : found->second;
}

}  // namespace ebbwatch
