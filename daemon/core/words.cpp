// The fixed words of the formats for the core's enumerators.
#include "core/decision.h"
#include "core/watch.h"

namespace ebbwatch {

const char* word(DecisionKind kind) {
  switch (kind) {
    case DecisionKind::loss:
      return "loss";
    case DecisionKind::recovery:
      return "recovery";
    case DecisionKind::cause_revised:
      return "cause_revised";
    case DecisionKind::watch_gap:
      return "watch_gap";
    case DecisionKind::unsteady:
      return "unsteady";
    case DecisionKind::steady:
      return "steady";
  }
  return "";
}

const char* word(Cause cause) {
  switch (cause) {
    case Cause::undetermined:
      return "undetermined";
    case Cause::mains_power:
      return "mains_power";
    case Cause::internet:
      return "internet";
    case Cause::controller:
      return "controller";
    case Cause::watcher_uplink:
      return "watcher_uplink";
  }
  return "";
}

const char* word(Scope scope) {
  switch (scope) {
    case Scope::controller:
      return "controller";
    case Scope::tank:
      return "tank";
    case Scope::site:
      return "site";
    case Scope::area:
      return "area";
    case Scope::provider:
      return "provider";
    case Scope::watcher:
      return "watcher";
  }
  return "";
}

const char* word(Contact contact) {
  switch (contact) {
    case Contact::enrolled:
      return "enrolled";
    case Contact::present:
      return "present";
    case Contact::overdue:
      return "overdue";
    case Contact::silent:
      return "silent";
    case Contact::returning:
      return "returning";
  }
  return "";
}

const char* word(GroupContact contact) {
  switch (contact) {
    case GroupContact::in_contact:
      return "in_contact";
    case GroupContact::in_doubt:
      return "in_doubt";
    case GroupContact::lost:
      return "lost";
    case GroupContact::returning:
      return "returning";
  }
  return "";
}

const char* word(Shelf::Kind kind) {
  return word(kind == Shelf::Kind::shelved ? AlarmState::shelved : AlarmState::out_of_service);
}

const char* word(AlarmState state) {
  switch (state) {
    case AlarmState::normal:
      return "normal";
    case AlarmState::unacknowledged:
      return "unacknowledged";
    case AlarmState::acknowledged:
      return "acknowledged";
    case AlarmState::returned_unacknowledged:
      return "returned_unacknowledged";
    case AlarmState::shelved:
      return "shelved";
    case AlarmState::suppressed_by_design:
      return "suppressed_by_design";
    case AlarmState::out_of_service:
      return "out_of_service";
  }
  return "";
}

}  // namespace ebbwatch
