#include "report/strips.h"

#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <limits>
#include <map>

#include "core/wording.h"
#include "report/collect.h"
#include "report/words.h"
#include "text/calendar.h"

namespace ebbwatch::report {
namespace {

namespace json = boost::json;

constexpr std::size_t ticks_at_most = 8;
constexpr std::size_t watt_tracks_max = 8;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
/// A reading older than this many intervals does not reach the next one.
constexpr std::int64_t lift_after = 10;

constexpr std::pair<const char*, const char*> water_readings[] = {
    {"temperature_c", "Water, °C"},
    {"oxygen_mg_l", "Oxygen, mg/L"},
    {"room_temperature_c", "Room, °C"}};

double seconds(WallTime at) {
  return static_cast<double>(at.us) / 1e6;
}

charts::StripChart blank(Stretch stretch) {
  charts::StripChart chart;
  chart.from = seconds(stretch.from);
  chart.to = seconds(stretch.until);
  for (const TimeMark& mark : time_marks(stretch.from, stretch.until, ticks_at_most)) {
    chart.ticks.push_back({seconds(mark.at), mark.label});
  }
  return chart;
}

std::vector<charts::Band> bands(const std::vector<Stretch>& stretches, charts::Band::Kind kind) {
  std::vector<charts::Band> out;
  for (const Stretch& one : stretches) {
    out.push_back({kind, seconds(one.from), seconds(one.until)});
  }
  return out;
}

/// The curves of one tank while they are read.
class Curves {
 public:
  explicit Curves(const TankSettings& tank) : tank_(tank) {}
  void take(const CheckInRow& row);
  void take(const HourRow& hour);
  std::vector<charts::Track> finish();

 private:
  struct Pen {
    charts::Track track;
    WallTime last;
  };
  void draw(std::map<std::string, Pen>& pens, const std::string& name, WallTime at, double value,
            Span interval);
  void draw_hour(std::map<std::string, Pen>& pens, const std::string& name, const HourRow& hour,
                 double least, double mean, double most);
  void take_readings(const CheckInRow& row, Span interval);
  const ControllerSettings* controller(const std::string& id) const {
    for (const auto& one : tank_.controllers) {
      if (one.id == id) return &one;
    }
    return nullptr;
  }

  const TankSettings& tank_;
  std::map<std::string, WallTime> heard_;
  std::map<std::string, Pen> spacing_, water_, watts_;
};

void Curves::draw(std::map<std::string, Pen>& pens, const std::string& name, WallTime at,
                  double value, Span interval) {
  Pen& pen = pens[name];
  auto& points = pen.track.points;
  if (points.empty()) pen.track.name = name;
  if (!points.empty() && at - pen.last > interval * lift_after) {
    points.push_back({seconds(at), nan});
  }
  points.push_back({seconds(at), value});
  pen.last = at;
}

void Curves::take_readings(const CheckInRow& row, Span interval) {
  boost::system::error_code error;
  const auto value = json::parse(row.readings_json, error);
  const auto* readings = error ? nullptr : value.if_object();
  if (readings == nullptr) return;
  for (const auto& [key, name] : water_readings) {
    const auto* number = readings->if_contains(key);
    if (number && number->is_number()) {
      draw(water_, name, row.at, number->to_number<double>(), interval);
    }
  }
  const auto* watts = readings->if_contains("watts");
  if (!watts || !watts->is_object()) return;
  for (const auto& [device, number] : watts->get_object()) {
    const std::string name = std::string(device) + ", W";
    const bool room = watts_.count(name) != 0 || watts_.size() < watt_tracks_max;
    if (number.is_number() && room) {
      draw(watts_, name, row.at, number.to_number<double>(), interval);
    }
  }
}

void Curves::take(const CheckInRow& row) {
  const ControllerSettings* from = controller(row.controller);
  if (from == nullptr || row.buffered) return;
  const auto last = heard_.find(row.controller);
  if (last != heard_.end()) {
    Pen& pen = spacing_[row.controller];
    pen.track.name = "Spacing of the check-ins of " + from->name;
    pen.track.measure = charts::Measure::seconds;
    pen.track.spacing = charts::Spacing::logarithmic;
    pen.track.points.push_back({seconds(row.at), (row.at - last->second).seconds()});
  }
  heard_[row.controller] = row.at;
  if (!row.readings_json.empty()) take_readings(row, from->interval);
}

/// Of an hour the least, the mean and the greatest value, all at its middle.
void Curves::draw_hour(std::map<std::string, Pen>& pens, const std::string& name,
                       const HourRow& hour, double least, double mean, double most) {
  const WallTime middle = hour.at + Span::of_min(30);
  for (const double value : {least, most, mean}) draw(pens, name, middle, value, Span::of_min(15));
}

void Curves::take(const HourRow& hour) {
  const ControllerSettings* from = controller(hour.controller);
  if (from == nullptr || !hour.first) return;
  heard_[hour.controller] = *hour.last;
  Pen& pen = spacing_[hour.controller];
  pen.track.name = "Spacing of the check-ins of " + from->name;
  pen.track.measure = charts::Measure::seconds;
  pen.track.spacing = charts::Spacing::logarithmic;
  const double middle = seconds(hour.at + Span::of_min(30));
  if (hour.heard > 1) {
    const double mean = (*hour.last - *hour.first).seconds() / static_cast<double>(hour.heard - 1);
    pen.track.points.push_back({middle, mean});
  }
  if (hour.longest_gap > Span{}) pen.track.points.push_back({middle, hour.longest_gap.seconds()});
  for (const auto& one : hour.readings) {
    for (const auto& [key, name] : water_readings) {
      if (one.name == key) draw_hour(water_, name, hour, one.least, one.mean, one.most);
    }
    if (!one.name.starts_with("watts.")) continue;
    const std::string name = one.name.substr(6) + ", W";
    const bool room = watts_.count(name) != 0 || watts_.size() < watt_tracks_max;
    if (room) draw_hour(watts_, name, hour, one.least, one.mean, one.most);
  }
}

std::vector<charts::Track> Curves::finish() {
  std::vector<charts::Track> tracks;
  for (auto* pens : {&spacing_, &water_, &watts_}) {
    for (auto& [name, pen] : *pens) tracks.push_back(std::move(pen.track));
  }
  return tracks;
}

}  // namespace

charts::StripChart contact_strip(const Record& record, const std::vector<TankTime>& times) {
  charts::StripChart chart = blank({record.from, record.until});
  chart.id = "contact";
  chart.title = "Contact with each tank, " + record.title;
  chart.bands =
      bands(joined(record.gaps, {record.from, record.until}), charts::Band::Kind::unwatched);
  for (std::size_t i = 0; i < times.size(); ++i) {
    charts::Track track;
    track.name =
        record.tanks[i].name + ", " + percent_text(times[i].availability()) + " in contact";
    track.ruled = false;
    track.bands = bands(times[i].lost_stretches, charts::Band::Kind::lost);
    chart.description += (i == 0 ? "" : " ") + track.name + ".";
    chart.tracks.push_back(std::move(track));
  }
  return chart;
}

namespace {

/// Every row of the stretch to the curves of its tank.
Result<void> read_curves(Store& store, std::vector<Curves>& curves,
                         const std::vector<const TankSettings*>& tanks, Stretch stretch) {
  std::map<std::string, Curves*, std::less<>> of_controller;
  for (std::size_t i = 0; i < tanks.size(); ++i) {
    for (const auto& one : tanks[i]->controllers) of_controller[one.id] = &curves[i];
  }
  HistoryQuery query;
  query.from = stretch.from;
  query.until = stretch.until;
  for (const auto& [id, its] : of_controller) query.any_of.push_back(id);
  if (query.any_of.size() == 1) query.subject = query.any_of.front(), query.any_of.clear();
  const auto take = [&of_controller](const auto& row) {
    const auto found = of_controller.find(row.controller);
    if (found != of_controller.end()) found->second->take(row);
    return true;
  };
  return store.for_each_kept(query, take, [&](const HeardRow& row) {
    const auto* heard = std::get_if<CheckInRow>(&row);
    return heard == nullptr || take(*heard);
  });
}

charts::StripChart strip_of(const TankSettings& tank, Curves& curves, const Record& record) {
  const Stretch stretch{record.from, record.until};
  charts::StripChart chart = blank(stretch);
  chart.id = tank.id;
  chart.title =
      tank.name + ", " + local_minute(stretch.from) + " to " + local_minute(stretch.until);
  chart.tracks = curves.finish();
  if (chart.tracks.empty()) {
    chart.tracks.emplace_back();
    chart.tracks.back().name = "Nothing was heard of it in this time";
    chart.tracks.back().ruled = false;
  }
  const auto times = tank_times(record);
  for (std::size_t i = 0; i < times.size(); ++i) {
    if (record.tanks[i].id != tank.id) continue;
    chart.bands = bands(times[i].lost_stretches, charts::Band::Kind::lost);
    chart.description =
        counted(times[i].outages, "outage", "outages") +
        (times[i].outages == 0 ? "." : ", out of contact " + span_text(times[i].lost) + ".");
  }
  const auto gaps = bands(joined(record.gaps, stretch), charts::Band::Kind::unwatched);
  chart.bands.insert(chart.bands.end(), gaps.begin(), gaps.end());
  return chart;
}

}  // namespace

Result<std::vector<charts::StripChart>> tank_strips(Store& store, const Settings& settings,
                                                    const SiteSettings& site,
                                                    const std::string& tank, Stretch stretch) {
  const auto record = collect(store, settings, {"", stretch.from, stretch.until, site.id, false});
  if (!record) return record.error();
  std::vector<const TankSettings*> tanks;
  std::vector<Curves> curves;
  for (const auto& one : site.tanks) {
    if (!tank.empty() && one.id != tank) continue;
    tanks.push_back(&one);
    curves.emplace_back(one);
  }
  if (const auto read = read_curves(store, curves, tanks, stretch); !read) return read.error();
  std::vector<charts::StripChart> strips;
  for (std::size_t i = 0; i < tanks.size(); ++i) {
    strips.push_back(strip_of(*tanks[i], curves[i], record.value()));
  }
  return strips;
}

}  // namespace ebbwatch::report
