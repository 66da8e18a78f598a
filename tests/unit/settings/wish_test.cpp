// Wishes instead of delays, and the early telling of a reported mains loss.
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

namespace {

std::string with_detection(const std::string& detection) {
  return changed(sample,
                 "detection:\n  on_delay: 5min\n  steadiness: {half_life: 1h, suppress: 2500}",
                 "detection:" + detection);
}
const std::string wished = " {tell_within: 10min, false_alarms_at_most: 1 per year}";

}  // namespace

TEST_CASE("settings: a wish is read and goes down to where delays are explicit") {
  const std::string yaml =
      changed(with_detection(wished), "    call_list: everyday\n    tanks:",
              "    call_list: everyday\n    detection: {tell_within: 20min}\n    tanks:");
  const Loaded loaded = load_settings_text(yaml, "f.yaml");
  REQUIRE(problems_of(loaded) == "");
  CHECK(loaded.settings.wish == DetectionWish{Span::of_min(10), Rate{1, Rate::Per::year}});
  const DetectionWish at_site = apply(loaded.settings.wish, loaded.settings.sites[0].detection);
  CHECK(at_site == DetectionWish{Span::of_min(20), Rate{1, Rate::Per::year}});
  DetectionOverrides delays;
  delays.min_missed = 4;
  CHECK_FALSE(apply(at_site, delays).given());
}

TEST_CASE("settings: a wish and a delay of the same level are an error that names both") {
  CHECK(problems_of(with_detection(
            " {on_delay: 5min, tell_within: 10min, false_alarms_at_most: 1 per year}")) ==
        "f.yaml:5:42: detection.tell_within: tell_within and on_delay together; allowed: a wish "
        "(tell_within, false_alarms_at_most) or delays (on_delay, min_missed). Remove one of them; "
        "delays are worked out from a wish.\n");
  CHECK(
      problems_of(with_detection(" {min_missed: 3, false_alarms_at_most: 1 per year}")) ==
      "f.yaml:5:50: detection.false_alarms_at_most: false_alarms_at_most and min_missed together; "
      "allowed: a wish (tell_within, false_alarms_at_most) or delays (on_delay, min_missed). "
      "Remove one of them; delays are worked out from a wish.\n");
}

TEST_CASE("settings: half a wish is an error that says what is missing") {
  CHECK(problems_of(with_detection(" {tell_within: 10min}")) ==
        "f.yaml:5:12: detection.false_alarms_at_most: missing beside tell_within; allowed: both, "
        "here or on a level above. Add false_alarms_at_most: 1 per year.\n");
}

TEST_CASE("settings: a rate that is none is reported") {
  CHECK(problems_of(with_detection(" {tell_within: 10min, false_alarms_at_most: 0 per year}")) ==
        "f.yaml:5:55: detection.false_alarms_at_most: \"0 per year\"; allowed: N per day, week, "
        "month or year, N from 1 to 1000, such as 1 per year.\n");
}

TEST_CASE("settings: the telling of a reported mains loss can be set at every level") {
  const std::string yaml = changed(
      with_detection(" {mains_report: {quorum: 2, at_most: 3min}}"), "        volume_l: 450",
      "        volume_l: 450\n        detection: {mains_report: {enabled: false, at_least: 90s}}");
  const Loaded loaded = load_settings_text(yaml, "f.yaml");
  REQUIRE(problems_of(loaded) == "");
  CHECK(loaded.settings.detection.mains_report ==
        MainsReport{true, 2, Span::of_s(50), Span::of_min(3)});
  const Detection tank =
      apply(loaded.settings.detection, loaded.settings.sites[0].tanks[0].detection);
  CHECK(tank.mains_report == MainsReport{false, 2, Span::of_s(90), Span::of_min(3)});
}

TEST_CASE("settings: a mains report that contradicts itself is reported") {
  CHECK(problems_of(with_detection(" {mains_report: {at_least: 5min}}")) ==
        "f.yaml:5:38: detection.mains_report.at_least: at_most 150s is below at_least 5min; "
        "allowed: at_least up to at_most.\n");
  CHECK(problems_of(with_detection(" {mains_report: {enabled: maybe}}")) ==
        "f.yaml:5:37: detection.mains_report.enabled: \"maybe\"; allowed: true or false.\n");
}
