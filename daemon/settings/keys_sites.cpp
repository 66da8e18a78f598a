// Tables of sites, tanks, controllers and the detection settings that each level may override.
#include "settings/keys.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

constexpr Span second = Span::of_s(1);
constexpr Span day = Span::of_days(1);
constexpr Span week = Span::of_days(7);

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
          .mapping("detection", &ControllerSettings::detection, detection_keys());
  return keys;
}

const Keys<TankSettings>& tank_keys() {
  constexpr double volume_l_max = 10'000'000;
  static const Keys<TankSettings> keys =
      Keys<TankSettings>()
          .required("id", &TankSettings::id, identifier)
          .key("name", &TankSettings::name, person_name)
          .key("volume_l", &TankSettings::volume_l, number(0, false, volume_l_max))
          .key("instructions", &TankSettings::instructions, free_text)
          .list("controllers", true, &TankSettings::controllers, controller_keys())
          .mapping("detection", &TankSettings::detection, detection_keys());
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
          .key("instructions", &SiteSettings::instructions, free_text)
          .key("tells_first", &SiteSettings::tells_first, values_of<std::string>(identifier))
          .list("tanks", true, &SiteSettings::tanks, tank_keys())
          .mapping("detection", &SiteSettings::detection, detection_keys());
  return keys;
}

}  // namespace ebbwatch
