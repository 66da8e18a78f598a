#include "timeleft/estimate.h"

#include <cmath>
#include <cstdio>

#include "timeleft/ranges.h"

namespace ebbwatch {
namespace {

constexpr Span reading_age_max = Span::of_h(6);
constexpr double volume_min_l = 10, volume_max_l = 5000;
constexpr double depth_min_m = 0.05, depth_max_m = 2;
constexpr double filled_share = 0.9;        // Of the height: assumption.
constexpr double wall_default_mm = 10;      // Glass thickness hardly matters.
constexpr double still_surface_cm_h = 1.5;  // k600
constexpr double closed_exchange = 0.5;     // A tight lid halves it: assumption.
constexpr double sea_water_from_ppt = 15;   // Which Schmidt numbers; they differ by a tenth.
constexpr double typical_room_error_k = 2, sensed_room_error_k = 1;

std::string number(double value, const char* format = "%.1f") {
  char text[32];
  std::snprintf(text, sizeof text, format, value);
  std::string out = text;
  if (out.find('.') != out.npos) {
    out.erase(out.find_last_not_of('0') + 1);
    if (out.ends_with('.')) out.pop_back();
  }
  return out;
}

const char* name_of(Cover cover) {
  constexpr const char* names[] = {"open", "covered by a mesh", "covered by glass"};
  return names[static_cast<std::size_t>(cover)];
}

/// Where a value comes from and how it is told.
struct Known {
  double value = 0;
  bool measured = false;
};

class Estimator {
 public:
  Estimator(const TankFacts& facts, const TankReadings& readings, WallTime from,
            const std::optional<LearntTimeConstant>& learnt)
      : facts_(facts), readings_(readings), learnt_(learnt) {
    left_.from = from;
  }

  TimeLeft estimate() {
    std::string refusal = read_size();
    if (refusal.empty()) refusal = read_common();
    if (!refusal.empty()) {
      left_.temperature.refusal = left_.oxygen.refusal = refusal;
      return std::move(left_);
    }
    estimate_temperature();
    estimate_oxygen();
    assume("Neither sand and rock nor chemistry, disease or layers in still water are counted.");
    return std::move(left_);
  }

 private:
  void assume(std::string sentence) { left_.assumptions.push_back(std::move(sentence)); }

  std::optional<Known> known(const std::optional<TankReading>& reading,
                             const std::optional<double>& given) const {
    if (reading && left_.from - reading->at <= reading_age_max) return Known{reading->value, true};
    if (given) return Known{*given, false};
    return std::nullopt;
  }

  /// A reading from later than `from` starts its clock then.
  HoursRange counted_from(const HoursRange& range, const std::optional<TankReading>& reading,
                          bool is_used) const {
    if (!is_used || reading->at <= left_.from || range.high_h == 0) return range;
    const double later_h = (reading->at - left_.from).seconds() / 3600;
    return {range.low_h + later_h, range.middle_h + later_h, range.high_h + later_h};
  }

  /// Fills body_.water. @return a refusal, or empty.
  std::string read_size() {
    const auto& f = facts_;
    const bool has_base = f.length_cm && f.width_cm;
    if (!f.volume_l && !(has_base && f.height_cm)) {
      return "the tank's size is unknown: give volume_l, or length_cm, width_cm and height_cm";
    }
    double volume_l = f.volume_l.value_or(0);
    if (has_base) {
      body_.water.length_m = *f.length_cm / 100;
      body_.water.width_m = *f.width_cm / 100;
      if (!f.volume_l) {
        volume_l = body_.water.surface_m2() * *f.height_cm / 100 * filled_share * 1000;
        assume("The water stands at 90 % of the height: " + number(volume_l, "%.0f") + " L.");
      }
    } else {
      body_.water.width_m = std::cbrt(volume_l / 1000 / 2);
      body_.water.length_m = 2 * body_.water.width_m;
      assume("No length and width are given: twice as long as wide and deep.");
    }
    if (volume_l < volume_min_l || volume_l > volume_max_l) {
      return number(volume_l, "%.0f") + " L is outside of 10 to 5000 L, where the formulas hold";
    }
    body_.water.depth_m = volume_l / 1000 / body_.water.surface_m2();
    return check_depth();
  }

  std::string check_depth() const {
    const double depth_m = body_.water.depth_m;
    if (depth_m < depth_min_m || depth_m > depth_max_m) {
      return "the water would be " + number(depth_m * 100, "%.0f") +
             " cm deep, outside of 5 to 200 cm: check volume_l, length_cm and width_cm";
    }
    return "";
  }

  /// What both clocks need. @return a refusal, or empty.
  std::string read_common() {
    const auto water = known(readings_.water_c, facts_.setpoint_c);
    if (!water) {
      return "the water's temperature is unknown: report temperature_c, or give setpoint_c";
    }
    water_ = *water;
    assume("Water at " + number(water_.value) + " °C, " +
           (water_.measured ? "the last reading." : "the set point; no reading is new enough."));
    read_salinity();
    body_.cover = facts_.cover.value_or(Cover::open);
    assume(std::string("The tank is ") + name_of(body_.cover) +
           (facts_.cover ? "." : "; nothing is said of a cover."));
    const bool acrylic = facts_.wall == WallMaterial::acrylic;
    body_.wall_w_m2_k = wall_transfer(facts_.wall_thickness_mm.value_or(wall_default_mm) / 1000,
                                      acrylic ? acrylic_conductivity : glass_conductivity);
    return "";
  }

  void read_salinity() {
    const auto given = known(readings_.salinity_ppt, facts_.salinity_ppt);
    const double usual = facts_.livestock ? defaults_of(*facts_.livestock).salinity : 0;
    body_.salinity = given ? given->value : usual;
    assume("Salinity " + number(body_.salinity) + " ppt" +
           (given ? "." : ", as is usual; none is given."));
  }

  std::optional<SafeBand> band() const {
    if (facts_.safe_temperature) return facts_.safe_temperature;
    if (facts_.livestock) return defaults_of(*facts_.livestock).band;
    return std::nullopt;
  }

  void estimate_temperature() {
    const auto room = known(readings_.room_c, facts_.room_temperature_c);
    const auto safe = band();
    if (!room || !safe) {
      left_.temperature.refusal =
          !room ? "the room's temperature is unknown: report room_temperature_c, or give it"
                : "the safe band is unknown: give livestock or safe_temperature_c";
      return;
    }
    TemperatureCase tank{body_,        water_.value, room->value,         *safe,
                         std::nullopt, size_factor,  typical_room_error_k};
    if (learnt_) {
      tank.learnt_tau_h = learnt_->hours;
      tank.tau_factor = learnt_->factor;
      if (room->measured) tank.room_error_k = sensed_room_error_k;
    }
    const TemperatureRange found = temperature_range(tank);
    left_.temperature.range = counted_from(found.hours, readings_.water_c, water_.measured);
    left_.temperature.limit = found.side == BandSide::below
                                  ? ClockLimit{ClockLimit::Kind::water_below, safe->low_c}
                                  : ClockLimit{ClockLimit::Kind::water_above, safe->high_c};
    assume_temperature(tank, *room);
  }

  void assume_temperature(const TemperatureCase& tank, const Known& room) {
    assume("Safe from " + number(tank.band.low_c) + " to " + number(tank.band.high_c) + " °C" +
           (facts_.safe_temperature ? "." : ", as is usual for such livestock."));
    assume("Room at " + number(room.value) + " °C, " +
           (room.measured ? "the last reading" : "as given") + ", give or take " +
           number(tank.room_error_k) + " K; at worst it drifts away by " +
           number(tank.room_drift_k_per_h) + " K an hour. Air at 50 % humidity.");
    if (learnt_) {
      assume("The water follows the room with a time constant of " + number(learnt_->hours) +
             " hours, learnt from " + std::to_string(learnt_->spells) +
             (learnt_->spells == 1 ? " stretch" : " stretches") +
             " without power, within a factor " + number(learnt_->factor, "%.2f") + ".");
    } else {
      assume("How fast the water follows the room is worked out from the size, within a factor " +
             number(size_factor, "%.2f") + ".");
    }
  }

  std::string oxygen_refusal() const {
    if (!facts_.livestock) return "what lives in the tank is unknown: give livestock";
    if (!facts_.stock && !facts_.fish_mass_g) {
      return "how much lives in the tank is unknown: give stock or fish_mass_g";
    }
    const double pressure = pressure_at(facts_.altitude_m.value_or(0));
    if (pressure < 0.5 || pressure > 1.1) return "the air pressure is outside of 0.5 to 1.1 atm";
    return "";
  }

  Consumers consumers(double litres) const {
    const LivestockDefaults& usual = defaults_of(*facts_.livestock);
    const bool reef = *facts_.livestock == Livestock::reef;
    Consumers out{facts_.fish_mass_g.value_or(0), usual.fish_mass_g, usual.exponent,
                  facts_.coral_area_m2.value_or(0)};
    if (!facts_.fish_mass_g) out.fish_mass_g = fish_g_per_l(*facts_.stock) * litres;
    if (reef && !facts_.coral_area_m2) {
      out.coral_m2 = coral_m2_per_l(facts_.stock.value_or(Stock::medium)) * litres;
    }
    return out;
  }

  void estimate_oxygen() {
    left_.oxygen.refusal = oxygen_refusal();
    if (!left_.oxygen.refusal.empty()) return;
    const double litres = body_.water.volume_m3() * 1000;
    const Consumers living = consumers(litres);
    const bool closed = body_.cover == Cover::glass;
    OxygenCase tank;
    tank.saturation_mg_l =
        oxygen_saturation(water_.value, body_.salinity, pressure_at(facts_.altitude_m.value_or(0)));
    const auto measured = known(readings_.oxygen_mg_l, std::nullopt);
    if (measured) tank.measured_mg_l = measured->value;
    tank.use_mg_l_h = oxygen_use_mg_h(living, water_.value) / litres;
    tank.reaeration_per_h = surface_transfer_m_h(still_surface_cm_h, water_.value,
                                                 body_.salinity >= sea_water_from_ppt) /
                            body_.water.depth_m * (closed ? closed_exchange : 1);
    tank.limit_mg_l =
        facts_.safe_oxygen_mg_l.value_or(defaults_of(*facts_.livestock).safe_oxygen_mg_l);
    left_.oxygen.range =
        counted_from(oxygen_range(tank), readings_.oxygen_mg_l, measured.has_value());
    left_.oxygen.limit = {ClockLimit::Kind::oxygen_below, tank.limit_mg_l};
    assume_oxygen(tank, living);
  }

  void assume_oxygen(const OxygenCase& tank, const Consumers& living) {
    assume("Oxygen starts at " +
           (tank.measured_mg_l ? number(*tank.measured_mg_l) + " mg/L, the last reading"
                               : "80 to 95 % of the " + number(tank.saturation_mg_l) +
                                     " mg/L that this water can hold") +
           "; danger below " + number(tank.limit_mg_l) + " mg/L.");
    assume(number(living.fish_mass_g, "%.0f") + " g of fish of " + number(living.typical_fish_g) +
           " g each" +
           (living.coral_m2 > 0 ? " and " + number(living.coral_m2, "%.2f") + " m² of coral" : "") +
           " use, with all else, " + number(tank.use_mg_l_h, "%.2f") +
           " mg/L an hour, within a factor 1.7.");
    assume("Pumps and air stones stand still; the surface lets in " +
           number(tank.reaeration_per_h * 100) + " % of what lacks an hour, within a factor 2.");
  }

  const TankFacts& facts_;
  const TankReadings& readings_;
  const std::optional<LearntTimeConstant>& learnt_;
  TankBody body_;
  Known water_;
  TimeLeft left_;
};

}  // namespace

TimeLeft estimate_time_left(const TankFacts& facts, const TankReadings& readings, WallTime from,
                            const std::optional<LearntTimeConstant>& learnt) {
  return Estimator(facts, readings, from, learnt).estimate();
}

}  // namespace ebbwatch
