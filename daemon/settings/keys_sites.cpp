// Tables of sites, tanks, controllers and the detection settings that each level may override.
#include "settings/keys.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

constexpr Span second = Span::of_s(1);
constexpr Span day = Span::of_days(1);
constexpr Span week = Span::of_days(7);

ReadValue<double> celsius() {
  return number(0, true, 40);
}

const Keys<DetectionOverrides>& steadiness_keys() {
  constexpr double merit_max = 1e9;
  static const Keys<DetectionOverrides> keys =
      Keys<DetectionOverrides>()
          .key("half_life", &DetectionOverrides::half_life, span(second, week))
          .key("penalty", &DetectionOverrides::penalty, number(0, false, merit_max))
          .key("suppress", &DetectionOverrides::suppress, number(0, false, merit_max))
          .key("reuse", &DetectionOverrides::reuse, number(0, false, merit_max))
          .key("longest", &DetectionOverrides::longest, span(second, week));
  return keys;
}

const Keys<DetectionOverrides>& mains_report_keys() {
  static const Keys<DetectionOverrides> keys =
      Keys<DetectionOverrides>()
          .key("enabled", &DetectionOverrides::mains_enabled, truth)
          .key("quorum", &DetectionOverrides::mains_quorum, whole<std::uint32_t>(1, 1000))
          .key("at_least", &DetectionOverrides::mains_at_least, span(second, day))
          .key("at_most", &DetectionOverrides::mains_at_most, span(second, day));
  return keys;
}

const Keys<ControllerSettings>& controller_keys() {
  static const Keys<ControllerSettings> keys =
      Keys<ControllerSettings>()
          .required("id", &ControllerSettings::id, identifier)
          .key("name", &ControllerSettings::name, person_name)
          .key("interval", &ControllerSettings::interval, span(second, week))
          .key("supply", &ControllerSettings::supply,
               choice<Supply>(
                   {{"mains", Supply::mains}, {"battery_backed", Supply::battery_backed}}))
          .mapping("detection", &ControllerSettings::detection, detection_keys())
          .key("readings", &ControllerSettings::readings, reading_limits);
  return keys;
}

const Keys<SafeBand>& safe_band_keys() {
  static const Keys<SafeBand> keys = Keys<SafeBand>()
                                         .required("low", &SafeBand::low_c, celsius())
                                         .required("high", &SafeBand::high_c, celsius());
  return keys;
}

/// A key that says something of the tank itself.
template <class M>
void fact(Keys<TankSettings>& keys, const char* name, std::optional<M> TankFacts::*member,
          ReadValue<M> read) {
  keys.custom({name, false, {}}, [member, read = std::move(read)](Reader& reader, const Cursor& at,
                                                                  TankSettings& out) {
    M value{};
    const bool usable = read(reader, at, value);
    if (usable) out.facts.*member = value;
    return usable;
  });
}

void add_size_keys(Keys<TankSettings>& keys) {
  constexpr double volume_l_max = 10'000'000, side_cm_max = 10'000, wall_mm_max = 100;
  fact(keys, "volume_l", &TankFacts::volume_l, number(0, false, volume_l_max));
  fact(keys, "length_cm", &TankFacts::length_cm, number(0, false, side_cm_max));
  fact(keys, "width_cm", &TankFacts::width_cm, number(0, false, side_cm_max));
  fact(keys, "height_cm", &TankFacts::height_cm, number(0, false, side_cm_max));
  fact(keys, "wall_thickness_mm", &TankFacts::wall_thickness_mm, number(1, true, wall_mm_max));
  fact(keys, "wall", &TankFacts::wall,
       choice<WallMaterial>({{"glass", WallMaterial::glass}, {"acrylic", WallMaterial::acrylic}}));
  fact(keys, "cover", &TankFacts::cover,
       choice<Cover>({{"open", Cover::open}, {"mesh", Cover::mesh}, {"glass", Cover::glass}}));
}

void add_life_keys(Keys<TankSettings>& keys) {
  constexpr double fish_g_max = 1'000'000, coral_m2_max = 1000, oxygen_mg_l_max = 14;
  fact(keys, "livestock", &TankFacts::livestock,
       choice<Livestock>({{"tropical", Livestock::tropical},
                          {"reef", Livestock::reef},
                          {"marine_fish", Livestock::marine_fish},
                          {"goldfish", Livestock::goldfish},
                          {"cold_water", Livestock::cold_water}}));
  fact(
      keys, "stock", &TankFacts::stock,
      choice<Stock>({{"light", Stock::light}, {"medium", Stock::medium}, {"heavy", Stock::heavy}}));
  fact(keys, "fish_mass_g", &TankFacts::fish_mass_g, number(0, true, fish_g_max));
  fact(keys, "coral_area_m2", &TankFacts::coral_area_m2, number(0, true, coral_m2_max));
  fact(keys, "salinity_ppt", &TankFacts::salinity_ppt, number(0, true, 40));
  fact(keys, "setpoint_c", &TankFacts::setpoint_c, celsius());
  fact(keys, "room_temperature_c", &TankFacts::room_temperature_c, celsius());
  fact(keys, "safe_oxygen_mg_l", &TankFacts::safe_oxygen_mg_l, number(0, false, oxygen_mg_l_max));
  keys.custom({"safe_temperature_c", false, safe_band_keys().names()},
              [](Reader& reader, const Cursor& at, TankSettings& out) {
                SafeBand band;
                const bool usable = safe_band_keys().fill(reader, at, band);
                if (usable) out.facts.safe_temperature = band;
                return usable;
              });
}

const Keys<TankSettings>& tank_keys() {
  static const Keys<TankSettings> keys = [] {
    Keys<TankSettings> all;
    all.required("id", &TankSettings::id, identifier).key("name", &TankSettings::name, person_name);
    add_size_keys(all);
    add_life_keys(all);
    all.key("instructions", &TankSettings::instructions, free_text)
        .list("controllers", true, &TankSettings::controllers, controller_keys())
        .mapping("detection", &TankSettings::detection, detection_keys());
    return all;
  }();
  return keys;
}

}  // namespace

const Keys<DetectionOverrides>& detection_keys() {
  static const Keys<DetectionOverrides> keys =
      Keys<DetectionOverrides>()
          .key("on_delay", &DetectionOverrides::on_delay, span(second, week))
          .key("off_delay", &DetectionOverrides::off_delay, span(second, week))
          .key("min_missed", &DetectionOverrides::min_missed, whole<std::uint32_t>(1, 1000))
          .key("quorum", &DetectionOverrides::quorum, quorum)
          .key("site_quorum", &DetectionOverrides::site_quorum, quorum)
          .key("witness_quorum", &DetectionOverrides::witness_quorum, quorum)
          .custom({"steadiness", false, steadiness_keys().names()},
                  [](Reader& reader, const Cursor& at, DetectionOverrides& out) {
                    return steadiness_keys().fill(reader, at, out);
                  })
          .custom({"mains_report", false, mains_report_keys().names()},
                  [](Reader& reader, const Cursor& at, DetectionOverrides& out) {
                    return mains_report_keys().fill(reader, at, out);
                  })
          .key("tell_within", &DetectionOverrides::tell_within, span(second, week))
          .key("false_alarms_at_most", &DetectionOverrides::false_alarms_at_most, rate);
  return keys;
}

const Keys<SiteSettings>& site_keys() {
  static const Keys<SiteSettings> keys =
      Keys<SiteSettings>()
          .required("id", &SiteSettings::id, identifier)
          .key("name", &SiteSettings::name, person_name)
          .key("area", &SiteSettings::area, identifier)
          .key("provider", &SiteSettings::provider, identifier)
          .key("call_list", &SiteSettings::call_list, identifier)
          .key("altitude_m", &SiteSettings::altitude_m, number(-450, true, 5500))
          .key("instructions", &SiteSettings::instructions, free_text)
          .key("tells_first", &SiteSettings::tells_first, values_of<std::string>(identifier))
          .list("tanks", true, &SiteSettings::tanks, tank_keys())
          .mapping("detection", &SiteSettings::detection, detection_keys());
  return keys;
}

}  // namespace ebbwatch
