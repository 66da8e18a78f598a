// Tables of keyholders and call lists.
#include "settings/keys.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

const Keys<CallStep>& step_keys() {
  static const Keys<CallStep> keys =
      Keys<CallStep>()
          .required("after", &CallStep::after, span(Span{}, Span::of_days(7)))
          .required("tell", &CallStep::tell, values_of<std::string>(identifier))
          .required("by", &CallStep::by, values_of<std::string>(identifier));
  return keys;
}

const Keys<DrillSettings>& drill_keys() {
  static const Keys<DrillSettings> keys =
      Keys<DrillSettings>()
          .required("every", &DrillSettings::every, span(Span::of_s(10), Span::of_days(366)))
          .key("at", &DrillSettings::at, time_of_day_minute);
  return keys;
}

const Keys<WeekWindow>& window_keys() {
  static const Keys<WeekWindow> keys = Keys<WeekWindow>()
                                           .required("days", &WeekWindow::days,
                                                     values_of<int>(choice<int>({{"mon", 0},
                                                                                 {"tue", 1},
                                                                                 {"wed", 2},
                                                                                 {"thu", 3},
                                                                                 {"fri", 4},
                                                                                 {"sat", 5},
                                                                                 {"sun", 6}})))
                                           .key("from", &WeekWindow::from, time_of_day_minute)
                                           .key("until", &WeekWindow::until, time_of_day_minute);
  return keys;
}

}  // namespace

const Keys<HoursSettings>& hours_keys() {
  static const Keys<HoursSettings> keys =
      Keys<HoursSettings>()
          .required("id", &HoursSettings::id, identifier)
          .list("windows", true, &HoursSettings::windows, window_keys())
          .key("closed_on", &HoursSettings::closed_on, values_of<std::int64_t>(calendar_day))
          .key("time_zone", &HoursSettings::time_zone, time_zone);
  return keys;
}

const Keys<KeyholderSettings>& keyholder_keys() {
  static const Keys<KeyholderSettings> keys =
      Keys<KeyholderSettings>()
          .required("id", &KeyholderSettings::id, identifier)
          .key("name", &KeyholderSettings::name, person_name)
          .key("email", &KeyholderSettings::email, line_text)
          .key("phone", &KeyholderSettings::phone, line_text)
          .key("languages", &KeyholderSettings::languages, values_of<std::string>(line_text))
          .key("hours", &KeyholderSettings::hours, values_of<std::string>(identifier))
          .key("summary_above", &KeyholderSettings::summary_above, whole<std::uint32_t>(0, 1000));
  return keys;
}

const Keys<CallListSettings>& call_list_keys() {
  static const Keys<CallListSettings> keys =
      Keys<CallListSettings>()
          .required("id", &CallListSettings::id, identifier)
          .list("steps", true, &CallListSettings::steps, step_keys())
          .key("repeat_every", &CallListSettings::repeat_every,
               span(Span::of_s(1), Span::of_days(7)))
          .key("repeat_at_most", &CallListSettings::repeat_at_most, whole<std::uint32_t>(0, 1000))
          .key("acknowledged_for", &CallListSettings::acknowledged_for,
               span(Span::of_s(1), Span::of_days(7)))
          .mapping("drills", &CallListSettings::drills, drill_keys())
          .key("prove_every", &CallListSettings::prove_every,
               span(Span::of_s(10), Span::of_days(3660)))
          .key("hours", &CallListSettings::hours, values_of<std::string>(identifier))
          .key("otherwise", &CallListSettings::otherwise, identifier)
          .key("digest_at", &CallListSettings::digest_at, time_of_day_minute);
  return keys;
}

}  // namespace ebbwatch
