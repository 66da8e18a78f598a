#include "cli/roll.h"

#include <boost/json/array.hpp>
#include <boost/json/value.hpp>
#include <boost/json/value_to.hpp>

#include "cli/members.h"
#include "core/wording.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

const json::array& list(const json::object& object, std::string_view key) {
  static const json::array none;
  const json::value* found = object.if_contains(key);
  return found && found->is_array() ? found->get_array() : none;
}

/// Words of the glossary are written with spaces for people.
std::string spoken(std::string text) {
  for (char& c : text) {
    if (c == '_') c = ' ';
  }
  return text;
}

/// Pads to `width` columns, counting characters of UTF-8.
std::string padded(std::string text, std::size_t width) {
  std::size_t shown = 0;
  for (const char c : text) shown += (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  if (shown < width) text.append(width - shown, ' ');
  return text;
}

std::string ago(const std::string& rfc3339, WallTime now) {
  const auto at = from_rfc3339(rfc3339);
  if (!at) return "never heard";
  return "heard " + span_text(std::max(now - *at, Span{})) + " ago";
}

constexpr std::size_t name_width = 38, state_width = 18;

std::string line(std::size_t indent, const std::string& label, const std::string& state,
                 const std::string& rest) {
  std::string out = std::string(indent, ' ') + padded(label, name_width - indent) + "  " +
                    padded(state, state_width) + rest;
  out.erase(out.find_last_not_of(' ') + 1);
  return out + "\n";
}

std::string alarm_words(const json::object& object) {
  const std::string alarm = member(object, "alarm");
  return alarm == "normal" ? "" : spoken(alarm);
}

/// One line for what is put away here, by whom and why; empty when nothing is.
std::string shelf_text(const json::object& object, const std::string& own, std::size_t indent) {
  const json::value* found = object.if_contains("shelf");
  if (!found || !found->is_object() || member(found->get_object(), "of") != own) return "";
  const auto& shelf = found->get_object();
  const std::string until = member(shelf, "until");
  std::string out(indent + 2, ' ');
  out += spoken(member(shelf, "state")) +
         (until.empty() ? " since " + member(shelf, "since") : " until " + until);
  return out + "\n" + std::string(indent + 4, ' ') + "by " + member(shelf, "by") + ": " +
         member(shelf, "reason") + "\n";
}

std::string label_of(const json::object& object) {
  const std::string id = member(object, "id"), name = member(object, "name");
  return name.empty() || name == id ? id : name + " (" + id + ")";
}

std::string joined(const json::array& texts) {
  std::string out;
  for (const auto& text : texts) {
    out += (out.empty() ? "" : ", ") + std::string(text.as_string());
  }
  return out;
}

/// A line for each reading of a tank that is not normal.
std::string readings_text(const json::object& tank) {
  std::string out;
  for (const auto& value : list(tank, "readings")) {
    const auto& reading = value.as_object();
    const std::string outage = member(reading, "outage");
    if (outage.empty()) continue;
    out += "    READING " + member(reading, "text") + "\n      " + outage + ", " +
           spoken(member(reading, "alarm")) + ", reported by " + member(reading, "controller") +
           "\n";
  }
  return out;
}

std::string sites_text(const json::object& status, WallTime now) {
  std::string out;
  for (const auto& site_value : list(status, "sites")) {
    const auto& site = site_value.as_object();
    out += line(0, label_of(site), spoken(member(site, "contact")), alarm_words(site));
    out += shelf_text(site, "site/" + member(site, "id"), 0);
    for (const auto& tank_value : list(site, "tanks")) {
      const auto& tank = tank_value.as_object();
      out += line(2, label_of(tank), spoken(member(tank, "contact")), alarm_words(tank));
      out += shelf_text(tank, "tank/" + member(tank, "id"), 2);
      out += readings_text(tank);
      for (const auto& value : list(tank, "controllers")) {
        const auto& controller = value.as_object();
        out += line(4, label_of(controller), spoken(member(controller, "contact")),
                    ago(member(controller, "last_heard"), now));
        out += shelf_text(controller, "controller/" + member(controller, "id"), 4);
        if (const auto& hearers = list(controller, "path_broken_heard_by"); !hearers.empty()) {
          out += "      heard by " + joined(hearers) +
                 ": the path between us and the site is broken\n";
        }
        if (const std::string by = member(controller, "heard_through"); !by.empty()) {
          out += "      heard through the witness " + by + ", not by this watcher\n";
        }
        if (const std::string until = member(controller, "planned_stop_until"); !until.empty()) {
          out += "      announced a stop until " + until + "\n";
        }
      }
    }
  }
  return out;
}

std::string outages_text(const json::object& status) {
  const auto& outages = list(status, "outages");
  if (outages.empty()) return "\nNo outage is running.\n";
  std::string out = "\nRunning outages:\n";
  for (const auto& value : outages) {
    const auto& outage = value.as_object();
    out += "  " + member(outage, "outage") + "  " + member(outage, "name") + " (" +
           member(outage, "scope") + "), since " + member(outage, "since") + "\n    cause " +
           spoken(member(outage, "cause")) + ", alarm " + spoken(member(outage, "alarm")) + "\n";
    const std::string teller = member(outage, "told_by");
    if (outage.contains("told_by")) {
      out += teller.empty() ? "    not told yet: another watcher has its turn\n"
                            : "    told by the watcher " + teller + "\n";
    }
  }
  return out + "Take one on with: ebbwatch acknowledge OUTAGE --by NAME\n";
}

std::string count_of(const json::object& object, const char* key) {
  const json::value* found = object.if_contains(key);
  return found ? std::to_string(found->to_number<std::int64_t>()) : "0";
}

std::string witnesses_text(const json::object& status, WallTime now) {
  const auto& witnesses = list(status, "witnesses");
  if (witnesses.empty()) return "";
  std::string out = "\nWitnesses:\n";
  for (const auto& value : witnesses) {
    const auto& witness = value.as_object();
    const bool down = member(witness, "its_link") == "down";
    out += line(2, member(witness, "name"), spoken(member(witness, "contact")),
                ago(member(witness, "last_heard"), now) + (down ? ", link down" : ""));
    out += "      agreed " + count_of(witness, "agreed") + ", disagreed " +
           count_of(witness, "disagreed") + ", proven wrong " + count_of(witness, "proven_wrong") +
           ", no answer " + count_of(witness, "not_answered") + "\n";
    for (const auto& one : list(witness, "disagreements")) {
      const auto& row = one.as_object();
      out += "      " + member(row, "at") + " said of " + member(row, "controller") + ": " +
             member(row, "said") + "\n";
    }
    const json::value* wrong = witness.if_contains("often_wrong");
    if (wrong != nullptr && wrong->is_bool() && wrong->get_bool()) {
      out += "      OFTEN WRONG: look into it, or take it out of witnesses\n";
    }
  }
  return out;
}

std::string broker_text(const json::object& status, WallTime now) {
  const json::value* found = status.if_contains("check_in_mqtt");
  if (!found || !found->is_object()) return "";
  const auto& broker = found->get_object();
  const std::string state = member(broker, "state");
  const auto since = from_rfc3339(member(broker, "since"));
  std::string out =
      line(2, "MQTT broker", state == "not_answering" ? "NOT ANSWERING" : spoken(state),
           since ? "since " + span_text(std::max(now - *since, Span{})) : "");
  if (state != "not_answering") return out;
  return out + "      " + member(broker, "broker") + ": " + member(broker, "why") +
         "\n      Who checks in through it cannot be heard, and is not taken for lost.\n";
}

std::string watcher_text(const json::object& status, WallTime now) {
  std::string out = "\nThe watcher " + member(status, "watcher") + " itself:\n";
  out += line(2, "own link", spoken(member(status, "own_link")), "");
  const std::string store = member(status, "store");
  out += line(2, "store", store == "working" ? store : "FAILING", store == "working" ? "" : store);
  for (const auto& value : list(status, "databases_put_aside")) {
    out += "      " + std::string(value.as_string()) + "\n";
  }
  for (const auto& value : list(status, "notifiers")) {
    const auto& notifier = value.as_object();
    const std::string since = member(notifier, "since");
    const auto at = from_rfc3339(since);
    std::string rest = at ? span_text(std::max(now - *at, Span{})) + " ago" : "";
    const auto waiting = json::value_to<std::int64_t>(notifier.at("waiting"));
    if (waiting > 0) rest += ", " + std::to_string(waiting) + " waiting";
    const bool failing = member(notifier, "state") == "failing";
    out += line(2, "notifier " + member(notifier, "id"),
                failing ? "FAILING" : spoken(member(notifier, "state")), rest);
    if (failing) out += "      it said: " + member(notifier, "answer") + "\n";
  }
  if (const json::value* udp = status.if_contains("check_in_udp"); udp && udp->is_object()) {
    const auto lost = json::value_to<std::int64_t>(udp->get_object().at("overflowed"));
    if (lost > 0) {
      out += line(2, "check-ins over UDP", "OVERFLOWED", std::to_string(lost) + " were dropped");
    }
  }
  out += broker_text(status, now);
  for (const auto& value : list(status, "wishes_not_to_be_had")) {
    out += "\nA wish that cannot be had:\n  " + std::string(value.as_string()) + "\n";
  }
  const std::string refused = member(status, "configuration_refused");
  if (!refused.empty()) {
    out +=
        "\nThe changed configuration was refused; the earlier one is in force:\n" + refused + "\n";
  }
  return out;
}

}  // namespace

std::string roll_text(const json::object& status, WallTime now) {
  return sites_text(status, now) + outages_text(status) + ways_text(status, now) +
         witnesses_text(status, now) + watcher_text(status, now);
}

}  // namespace ebbwatch
