// Single settings put over those of the file.
#include <fstream>

#include "support/temporary_folder.h"
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::problems_of;

namespace {

struct File {
  File() : path(folder.path() + "/f.yaml") { std::ofstream(path) << test::sample; }
  Loaded with(const std::vector<std::string>& assignments) const {
    return load_settings_with(path, assignments);
  }
  test::TemporaryFolder folder;
  std::string path;
};

}  // namespace

TEST_CASE("put over: settings of every level can be tried") {
  const Loaded loaded =
      File().with({"detection.on_delay=8min", "sites.elm-street.detection.off_delay=5min",
                   "sites.elm-street.tanks.lagoon.detection.steadiness.half_life=2h",
                   "sites.elm-street.tanks.lagoon.controllers.lagoon-main.detection.min_missed=5",
                   "detection.mains_report={enabled: false}"});
  REQUIRE(problems_of(loaded) == "");
  const SiteSettings& site = loaded.settings.sites[0];
  CHECK(loaded.settings.detection.on_delay == Span::of_min(8));
  CHECK(loaded.settings.detection.steadiness.suppress == 2500);  // What was not named stays.
  CHECK_FALSE(loaded.settings.detection.mains_report.enabled);
  CHECK(*site.detection.off_delay == Span::of_min(5));
  CHECK(*site.tanks[0].detection.half_life == Span::of_h(2));
  CHECK(*site.tanks[0].controllers[0].detection.min_missed == 5);
}

TEST_CASE("put over: a wish takes the place of delays of its level") {
  const Loaded loaded =
      File().with({"detection.tell_within=20min", "detection.false_alarms_at_most=1 per year"});
  REQUIRE(problems_of(loaded) == "");
  CHECK(loaded.settings.wish.given());
}

TEST_CASE("put over: what is wrong is said in the words of the file") {
  const File file;
  CHECK(
      problems_of(file.with({"detection.on_delay=8"})) ==
      "--set detection.on_delay=8: detection.on_delay: \"8\"; allowed: a duration from 1s to 7d: a "
      "number with one of the units ms, s, min, h, d. The unit is missing: 8s or 8min?\n");
  CHECK(problems_of(file.with({"sites.elm-stret.detection.on_delay=8min"})) ==
        "--set sites.elm-stret.detection.on_delay=8min: sites: \"elm-stret\"; allowed: elm-street. "
        "Did you mean elm-street?\n");
  for (const char* wrong : {"", "detection", "detection=", "=8min", "watcher.name=x", "sites=x",
                            "detection.on_dealy=8min", "detection.on_delay=8min\nlisten: x",
                            "sites.elm-street.tanks.lagoon.volume_l=3", "detection.on_delay={"}) {
    CAPTURE(wrong);
    CHECK(file.with({wrong}).problems.size() == 1);
  }
}
