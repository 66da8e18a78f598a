// Old check-ins become hours: against sums that are made here in another way, in steps of every
// size, with restarts and late rows in between. Times are virtual.
#include "store/condense.h"

#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <random>

#include "rows.h"
#include "store/hour_sum.h"
#include "store/sqlite_store.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

constexpr WallTime beginning{1'700'006'400'000'000};  // 2023-11-15T00:00:00Z: a whole hour.

WallTime hours_later(double hours) {
  return beginning + Span::of_seconds(hours * 3600);
}

struct Counts {
  std::uint64_t heard = 0, buffered = 0, on_battery = 0, temperatures = 0;
  double least = 1e9, most = -1e9, sum = 0;
  bool operator==(const Counts&) const = default;
};

struct Kept {
  std::map<std::string, Counts> whole;  ///< Raw and hours together, by controller.
  std::map<std::string, Span> longest_gap;
  std::size_t raw = 0, hours = 0;
  std::optional<WallTime> oldest_raw;
};

double temperature_of(const std::string& json) {
  return std::stod(json.substr(json.find(':') + 1));
}

Kept read_kept(Store& store, const HistoryQuery& query = {}) {
  Kept kept;
  const auto read = store.for_each_kept(
      query,
      [&kept](const HourRow& hour) {
        ++kept.hours;
        auto& counts = kept.whole[hour.controller];
        counts.heard += hour.heard;
        counts.buffered += hour.buffered;
        counts.on_battery += hour.on_battery;
        auto& gap = kept.longest_gap[hour.controller];
        gap = std::max(gap, hour.longest_gap);
        for (const auto& reading : hour.readings) {
          CHECK(reading.name == "temperature_c");
          counts.temperatures += reading.count;
          counts.least = std::min(counts.least, reading.least);
          counts.most = std::max(counts.most, reading.most);
          counts.sum += reading.mean * static_cast<double>(reading.count);
        }
        return true;
      },
      [&kept](const HeardRow& heard) {
        const auto* row = std::get_if<CheckInRow>(&heard);
        if (row == nullptr) return true;
        ++kept.raw;
        if (!kept.oldest_raw) kept.oldest_raw = row->at;
        auto& counts = kept.whole[row->controller];
        ++(row->buffered ? counts.buffered : counts.heard);
        if (row->power == "battery") ++counts.on_battery;
        if (row->readings_json.empty()) return true;
        const double value = temperature_of(row->readings_json);
        ++counts.temperatures;
        counts.least = std::min(counts.least, value);
        counts.most = std::max(counts.most, value);
        counts.sum += value;
        return true;
      });
  REQUIRE(read.ok());
  return kept;
}

void condense_all(Store& store, const KeepLimits& limits, std::size_t step) {
  for (int turns = 0; turns < 100'000; ++turns) {
    const auto more = store.condense(limits, step);
    REQUIRE_MESSAGE(more.ok(), more.error().text);
    if (!more.value()) return;
  }
  FAIL("it never ends");
}

void expect_same(const Kept& after, const Kept& before) {
  REQUIRE(after.whole.size() == before.whole.size());
  for (const auto& [name, was] : before.whole) {
    CAPTURE(name);
    Counts is = after.whole.at(name);
    // Numbers are kept with 7 digits.
    CHECK(std::abs(is.sum - was.sum) < 1e-4 * (1 + static_cast<double>(was.temperatures)));
    CHECK(std::abs(is.least - was.least) < 1e-4);
    CHECK(std::abs(is.most - was.most) < 1e-4);
    is.sum = was.sum;
    is.least = was.least;
    is.most = was.most;
    CHECK(is == was);
  }
}

TEST_CASE("condense: one hour, by hand") {
  TemporaryFolder folder;
  const auto store = open_store(folder.path());
  REQUIRE(store.ok());
  Batch batch;
  const auto add = [&batch](double minutes, bool buffered, const std::string& power,
                            const std::string& readings) {
    CheckInRow row;
    row.at = hours_later(minutes / 60);
    row.controller = "lagoon-main";
    row.buffered = buffered;
    row.power = power;
    row.readings_json = readings;
    batch.check_ins.push_back(row);
  };
  add(-1, false, "mains", "");
  add(1, false, "mains", R"({"temperature_c":25,"watts":{"heater":100},"note":"x"})");
  add(5, false, "battery", R"({"temperature_c":24})");
  add(6, true, "battery", R"({"temperature_c":29})");
  add(7, false, "mains", R"({"watts":{"heater":0}})");
  REQUIRE(store.value()->commit(batch).ok());
  condense_all(*store.value(), {hours_later(1), {}}, 2);
  std::vector<HourRow> hours;
  HistoryQuery query;
  query.from = beginning;
  const auto read = store.value()->for_each_kept(
      query,
      [&hours](const HourRow& hour) {
        hours.push_back(hour);
        return true;
      },
      [](const HeardRow&) {
        FAIL("nothing is raw any more");
        return true;
      });
  REQUIRE(read.ok());
  REQUIRE(hours.size() == 1);
  const HourRow& hour = hours.front();
  CHECK(hour.at == beginning);
  CHECK(hour.heard == 3);
  CHECK(hour.buffered == 1);
  CHECK(hour.on_battery == 2);
  CHECK(hour.first == hours_later(1.0 / 60));
  CHECK(hour.last == hours_later(7.0 / 60));
  CHECK(hour.longest_gap == Span::of_min(4));  // From 1 to 5; the one from -1 to 1 is shorter.
  REQUIRE(hour.readings.size() == 2);
  CHECK(hour.readings[0].name == "temperature_c");
  CHECK(hour.readings[0].count == 3);
  CHECK(hour.readings[0].least == 24);
  CHECK(hour.readings[0].mean == doctest::Approx(26));
  CHECK(hour.readings[0].most == 29);
  CHECK(hour.readings[1].name == "watts.heater");
  CHECK(hour.readings[1].mean == doctest::Approx(50));
}

TEST_CASE(
    "condense: counts, extremes and gaps are the same before and after, in steps of any size") {
  for (unsigned seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    std::mt19937 chance(seed);
    TemporaryFolder folder;
    auto store = open_store(folder.path());
    REQUIRE(store.ok());
    std::map<std::string, Span> gaps;
    std::map<std::string, WallTime> last;
    const auto spread = [&chance](double from, double to) {
      return std::uniform_real_distribution<double>(from, to)(chance);
    };
    Batch batch;
    for (double hour = 0; hour < 100; hour += spread(0.01, 0.2)) {
      CheckInRow row;
      row.at = hours_later(hour);
      row.controller = "tank-" + std::to_string(chance() % 5);
      row.buffered = chance() % 10 == 0;
      row.power = chance() % 7 == 0 ? "battery" : "mains";
      if (chance() % 3 != 0)
        row.readings_json = R"({"temperature_c":)" + std::to_string(spread(20, 30)) + "}";
      if (!row.buffered) {
        const auto before = last.find(row.controller);
        if (before != last.end())
          gaps[row.controller] = std::max(gaps[row.controller], row.at - before->second);
        last[row.controller] = row.at;
      }
      batch.check_ins.push_back(row);
    }
    batch.watcher_rows = {{hours_later(1), "uplink", "gate", true},
                          {hours_later(1), "start", "", true}};
    REQUIRE(store.value()->commit(batch).ok());
    const Kept before = read_kept(*store.value());
    CHECK(before.hours == 0);
    for (int hours = 13; hours <= 100; hours += 29) {
      const KeepLimits limits{hours_later(hours), {}};
      for (std::size_t some = 0; some < 3; ++some)
        REQUIRE(store.value()->condense(limits, 1 + chance() % 50).ok());
      store = Error{};
      store = open_store(folder.path());  // As after a restart.
      REQUIRE(store.ok());
      condense_all(*store.value(), limits, 1 + chance() % 300);
      const Kept after = read_kept(*store.value());
      expect_same(after, before);
      CHECK((!after.oldest_raw || *after.oldest_raw >= hours_later(hours)));
    }
    condense_all(*store.value(), {hours_later(200), {}}, 1000);
    const Kept after = read_kept(*store.value());
    expect_same(after, before);
    CHECK(after.raw == 0);
    CHECK(after.longest_gap == gaps);
    // Starts and stops stay, checks of the own link go.
    const auto rows = store.value()->watcher_rows({});
    REQUIRE(rows.value().size() == 1);
    CHECK(rows.value().front().kind == "start");
    // A row of the past that comes late is added to its hour.
    Batch late;
    late.check_ins.push_back(check_in(0, "tank-1"));
    late.check_ins.back().at = hours_later(50.5);
    late.check_ins.back().readings_json.clear();
    REQUIRE(store.value()->commit(late).ok());
    condense_all(*store.value(), {hours_later(200), {}}, 1000);
    const Kept more = read_kept(*store.value());
    CHECK(more.raw == 0);
    CHECK(more.whole.at("tank-1").heard + more.whole.at("tank-1").buffered ==
          after.whole.at("tank-1").heard + after.whole.at("tank-1").buffered + 1);
  }
}

TEST_CASE("condense: a stretch and controllers are chosen as of raw rows") {
  TemporaryFolder folder;
  const auto store = open_store(folder.path());
  REQUIRE(store.ok());
  Batch batch;
  for (int i = 0; i < 400; ++i) {
    CheckInRow row;
    row.at = hours_later(i / 10.0);
    row.controller = "tank-" + std::to_string(i % 4);
    batch.check_ins.push_back(row);
  }
  REQUIRE(store.value()->commit(batch).ok());
  CHECK(store.value()->heard_before("tank-1", hours_later(5)).value());
  condense_all(*store.value(), {hours_later(20), {}}, 64);
  HistoryQuery query;
  query.from = hours_later(10);
  query.until = hours_later(30);
  query.any_of = {"tank-0", "tank-3"};
  const Kept kept = read_kept(*store.value(), query);
  CHECK(kept.whole.size() == 2);
  CHECK(kept.hours == 20);
  CHECK(kept.raw == 50);
  query.any_of.clear();
  query.subject = "tank-2";
  CHECK(read_kept(*store.value(), query).raw == 25);
  query.subject = "unknown";
  CHECK(read_kept(*store.value(), query).whole.empty());
  CHECK(store.value()->heard_before("tank-1", hours_later(5)).value());
  CHECK_FALSE(store.value()->heard_before("tank-1", hours_later(0)).value());
  CHECK_FALSE(store.value()->heard_before("unknown", hours_later(90)).value());
}

TEST_CASE("condense: the record goes only where that is wished, and what runs stays") {
  TemporaryFolder folder;
  const auto store = open_store(folder.path());
  REQUIRE(store.ok());
  for (std::uint64_t number = 1; number <= 40; ++number)
    REQUIRE(store.value()->commit(full_batch(number)).ok());
  const auto decisions = store.value()->decisions({}).value().size();
  const auto open = store.value()->load().value();
  condense_all(*store.value(), {at(1e6), {}}, 10);
  CHECK(store.value()->decisions({}).value().size() == decisions);
  condense_all(*store.value(), {at(1e6), at(1e6)}, 10);
  CHECK(store.value()->decisions({}).value().size() < decisions);
  const auto after = store.value()->load().value();
  CHECK(after.outages.size() == open.outages.size());
  CHECK(after.calls.size() >= after.outages.size());  // Of what runs.
  CHECK(after.next_outage == open.next_outage);
  CHECK(read_kept(*store.value()).hours == 0);
}

}  // namespace
}  // namespace ebbwatch::test
