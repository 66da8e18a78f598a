// The summary as JSON and as a table.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "trace/summary.h"

namespace ebbwatch {
namespace {

constexpr std::size_t listed_max = 10;

std::string number(double value, int decimals) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  return text.data();
}

// Identifiers and words need no escaping; names of the truth file might.
std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') out += '\\';
    if (byte < 0x20) {
      std::array<char, 8> escape{};
      std::snprintf(escape.data(), escape.size(), "\\u%04x", byte);
      out += escape.data();
    } else {
      out += c;
    }
  }
  return out + "\"";
}

class JsonObject {
 public:
  JsonObject& put(const std::string& key, const std::string& json) {
    text_ += (text_.empty() ? "" : ", ") + quoted(key) + ": " + json;
    return *this;
  }
  JsonObject& put(const std::string& key, std::uint64_t value) {
    return put(key, std::to_string(value));
  }
  std::string text() const { return "{" + text_ + "}"; }

 private:
  std::string text_;
};

std::string seconds_or_null(std::optional<double> value) {
  return value && std::isfinite(*value) ? number(*value, 3) : "null";
}

template <class Items, class ToJson>
std::string json_list(const Items& items, ToJson to_json) {
  std::string list;
  for (const auto& item : items) list += (list.empty() ? "" : ", ") + to_json(item);
  return "[" + list + "]";
}

void put_truth(JsonObject& out, const ReplaySummary& s, const WatchPlan& plan) {
  out.put("outages", s.outages)
      .put("outages_found", s.outages_found)
      .put("outages_missed", s.outages_missed)
      .put("optional_outages", s.optional_outages)
      .put("optional_found", s.optional_found)
      .put("blips", s.blips)
      .put("true_losses", s.true_losses)
      .put("false_losses", s.false_losses)
      .put("blips_told", s.blips_told)
      .put("blind_losses", s.blind_losses)
      .put("excess_notices", s.excess_notices)
      .put("unjudged_losses", s.unjudged_losses)
      .put("premature_recoveries", s.premature_recoveries)
      .put("decided_while_blind", s.decided_while_blind)
      .put("causes_judged", s.causes_judged)
      .put("causes_right", s.causes_right)
      .put("scopes_judged", s.scopes_judged)
      .put("scopes_right", s.scopes_right);
  JsonObject detection;
  detection.put("p50", seconds_or_null(s.detection_percentile(0.5)))
      .put("p90", seconds_or_null(s.detection_percentile(0.9)))
      .put("p99", seconds_or_null(s.detection_percentile(0.99)));
  out.put("detection_s", detection.text());
  out.put("missed", json_list(s.missed, [](const TruthRow& row) {
            return JsonObject()
                .put("start_s", number(row.start_s, 3))
                .put("end_s", seconds_or_null(row.end_s))
                .put("scope", quoted(word(row.scope)))
                .put("subject", quoted(row.subject))
                .put("cause", quoted(row.cause))
                .text();
          }));
  out.put("false_ones", json_list(s.false_ones, [&](const ToldOutage& told) {
            return JsonObject()
                .put("time_s", number(told.told_s, 3))
                .put("since_s", number(told.since_s, 3))
                .put("scope", quoted(word(told.subject.scope)))
                .put("subject", quoted(subject_id(plan, told.subject)))
                .text();
          }));
}

std::string line(const std::string& label, const std::string& value, const std::string& note = "") {
  std::array<char, 256> text{};
  std::snprintf(text.data(), text.size(), "  %-34s %10s  %s", label.c_str(), value.c_str(),
                note.c_str());
  std::string out = text.data();
  while (out.ends_with(' ')) out.pop_back();
  return out + "\n";
}
std::string line(const std::string& label, std::uint64_t value, const std::string& note = "") {
  return line(label, std::to_string(value), note);
}

std::string share(std::uint64_t part, std::uint64_t whole) {
  if (whole == 0) return "";
  return number(100.0 * static_cast<double>(part) / static_cast<double>(whole), 1) + " %";
}

std::string clip(std::string text) {
  constexpr std::size_t columns_max = 80;
  if (text.size() > columns_max) text.resize(columns_max);
  return text + "\n";
}

std::string span_s(double from_s, double to_s) {
  const std::string until = std::isfinite(to_s) ? number(to_s, 0) : "the end";
  return number(from_s, 0) + " s to " + until + (std::isfinite(to_s) ? " s" : "");
}

std::string listed(const ReplaySummary& s, const WatchPlan& plan) {
  std::string out;
  for (std::size_t i = 0; i < std::min(s.missed.size(), listed_max); ++i) {
    const TruthRow& row = s.missed[i];
    out += clip(std::string("  missed: ") + word(row.scope) + " " + row.subject + ", " + row.cause +
                ", " + span_s(row.start_s, row.end_s));
  }
  for (std::size_t i = 0; i < std::min(s.false_ones.size(), listed_max); ++i) {
    const ToldOutage& told = s.false_ones[i];
    out += clip(std::string("  false:  ") + word(told.subject.scope) + " " +
                subject_id(plan, told.subject) + ", silent since " + number(told.since_s, 0) +
                " s, told at " + number(told.told_s, 0) + " s");
  }
  if (s.missed.size() > listed_max || s.false_ones.size() > listed_max) {
    out += "  More of these are in the JSON summary.\n";
  }
  return out;
}

std::string truth_text(const ReplaySummary& s, const WatchPlan& plan) {
  std::string out = "Against the truth\n";
  out += line("outages that had to be told", s.outages);
  out += line("  found", s.outages_found, share(s.outages_found, s.outages));
  out += line("  missed", s.outages_missed);
  out += line("shorter ones, told or not", s.optional_outages,
              std::to_string(s.optional_found) + " told");
  out += line("blips, which must not be told", s.blips);
  const double false_rate =
      s.tank_years > 0 ? static_cast<double>(s.false_losses) / s.tank_years : 0;
  out += line("false losses", s.false_losses, number(false_rate, 2) + " a tank-year");
  out += line("  a blip told", s.blips_told);
  out += line("  the watcher's own outage told", s.blind_losses);
  out += line("excess notices", s.excess_notices);
  out += line("premature recoveries", s.premature_recoveries);
  out += line("losses decided while blind", s.decided_while_blind);
  if (s.unjudged_losses > 0) out += line("losses of unknown truth", s.unjudged_losses);
  for (const auto& [label, part] :
       {std::pair{"detection time, median", 0.5}, std::pair{"detection time, 90 %", 0.9},
        std::pair{"detection time, 99 %", 0.99}}) {
    const auto value = s.detection_percentile(part);
    out += line(label, value ? number(*value, 0) + " s" : "-");
  }
  out +=
      line("last cause right", s.causes_right,
           "of " + std::to_string(s.causes_judged) + "  " + share(s.causes_right, s.causes_judged));
  out +=
      line("last scope right", s.scopes_right,
           "of " + std::to_string(s.scopes_judged) + "  " + share(s.scopes_right, s.scopes_judged));
  return out + listed(s, plan);
}

}  // namespace

std::string summary_json(const ReplaySummary& summary, const WatchPlan& plan) {
  JsonObject decisions;
  for (const auto& [kind, count] : summary.decisions) decisions.put(kind, count);
  JsonObject out;
  out.put("watcher", quoted(plan.watcher))
      .put("length_s", number(summary.length_s, 3))
      .put("tanks", plan.tanks.size())
      .put("controllers", plan.controllers.size())
      .put("tank_years", number(summary.tank_years, 6))
      .put("decisions", decisions.text());
  if (summary.has_truth) put_truth(out, summary, plan);
  return out.text() + "\n";
}

std::string summary_text(const ReplaySummary& summary, const WatchPlan& plan) {
  std::string out =
      clip("Replay of watcher " + plan.watcher + ": " + number(summary.length_s / 86'400, 1) +
           " days, " + std::to_string(plan.sites.size()) + " sites, " +
           std::to_string(plan.tanks.size()) + " tanks, " +
           std::to_string(plan.controllers.size()) + " controllers");
  out += "Decisions\n";
  for (const char* kind :
       {"loss", "recovery", "cause_revised", "watch_gap", "unsteady", "steady"}) {
    const auto count = summary.decisions.find(kind);
    if (count != summary.decisions.end()) out += line(kind, count->second);
  }
  return summary.has_truth ? out + truth_text(summary, plan) : out;
}

}  // namespace ebbwatch
