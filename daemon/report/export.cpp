#include "report/export.h"

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>

#include "text/csv.h"
#include "text/rfc3339.h"

namespace ebbwatch::report {
namespace {

namespace json = boost::json;

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

std::string text_of(const json::object& object, const char* key) {
  const auto* found = object.if_contains(key);
  return found && found->is_string() ? std::string(found->get_string()) : std::string();
}

json::object object_of(const std::string& text) {
  boost::system::error_code error;
  auto value = json::parse(text, error);
  return !error && value.is_object() ? std::move(value.get_object()) : json::object();
}

json::object readings_of(const HourRow& hour) {
  json::object readings;
  for (const auto& one : hour.readings)
    readings[one.name] = json::array{one.count, one.least, one.mean, one.most};
  return readings;
}

/// One row of either resolution.
struct Line {
  WallTime at;
  std::string controller;
  const char* resolution = "check_in";
  std::uint64_t heard = 0, late = 0, on_battery = 0;
  std::string longest_gap_s{}, seq{}, uptime_s{};  ///< Numbers, or empty.
  json::object readings{};
};

std::string written(Form form, const Line& line) {
  const std::string readings = line.readings.empty() ? "" : json::serialize(line.readings);
  if (form == Form::csv) {
    return csv_row({to_rfc3339(line.at), csv_text(line.controller), line.resolution,
                    std::to_string(line.heard), std::to_string(line.late),
                    std::to_string(line.on_battery), line.longest_gap_s, line.seq, line.uptime_s,
                    csv_text(readings)});
  }
  std::string out = "{\"at\":\"" + to_rfc3339(line.at) +
                    "\",\"controller\":" + json::serialize(json::string(line.controller)) +
                    ",\"resolution\":\"" + line.resolution +
                    "\",\"heard\":" + std::to_string(line.heard) +
                    ",\"late\":" + std::to_string(line.late) +
                    ",\"on_battery\":" + std::to_string(line.on_battery);
  const std::pair<const char*, const std::string*> optional[] = {
      {"longest_gap_s", &line.longest_gap_s},
      {"seq", &line.seq},
      {"uptime_s", &line.uptime_s},
      {"readings", &readings}};
  for (const auto& [name, value] : optional)
    if (!value->empty()) out += std::string(",\"") + name + "\":" + *value;
  return out + "}\n";
}

}  // namespace

std::string decision_head(Form form) {
  if (form == Form::json) return "";
  return csv_row({"at", "decision", "scope", "subject", "outage", "since", "cause", "confidence",
                  "by", "text", "evidence"});
}

std::string decision_row(Form form, const DecisionRow& row) {
  if (form == Form::json) return row.json + "\n";
  const json::object object = object_of(row.json);
  std::string since, confidence, evidence;
  if (const auto* at = object.if_contains("since_s"); at && at->is_number())
    since = to_rfc3339(WallTime{Span::of_seconds(at->to_number<double>()).us});
  if (const auto* sure = object.if_contains("confidence"); sure && sure->is_number())
    confidence = number(sure->to_number<double>());
  if (const auto* all = object.if_contains("evidence"); all && all->is_array()) {
    for (const auto& one : all->get_array()) {
      if (one.is_string())
        evidence += (evidence.empty() ? "" : "\n") + std::string(one.get_string());
    }
  }
  const std::string text = text_of(object, "text"), reason = text_of(object, "reason");
  return csv_row({to_rfc3339(row.at), csv_text(row.kind), csv_text(row.scope),
                  csv_text(row.subject), csv_text(text_of(object, "outage")), since,
                  csv_text(text_of(object, "cause")), confidence, csv_text(text_of(object, "by")),
                  csv_text(text.empty() ? reason : text), csv_text(evidence)});
}

std::string heard_head(Form form) {
  if (form == Form::json) return "";
  return csv_row({"at", "controller", "resolution", "heard", "late", "on_battery", "longest_gap_s",
                  "seq", "uptime_s", "readings"});
}

std::string heard_row(Form form, const CheckInRow& row) {
  Line line{row.at, row.controller};
  (row.buffered ? line.late : line.heard) = 1;
  line.on_battery = row.power == "battery" ? 1 : 0;
  if (row.seq) line.seq = std::to_string(*row.seq);
  if (row.uptime_s) line.uptime_s = number(*row.uptime_s);
  line.readings = object_of(row.readings_json);
  return written(form, line);
}

std::string heard_row(Form form, const HourRow& row) {
  Line line{row.at, row.controller, "hour", row.heard, row.buffered, row.on_battery};
  if (row.longest_gap > Span{}) line.longest_gap_s = number(row.longest_gap.seconds());
  line.readings = readings_of(row);
  return written(form, line);
}

}  // namespace ebbwatch::report
