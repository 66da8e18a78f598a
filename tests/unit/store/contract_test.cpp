// One contract for every Store and KeyStore: each test runs against the SQLite file and against the
// fake that other tests use, so that the fake cannot promise what the file does not keep.
#include <doctest/doctest.h>

#include <limits>

#include "rows.h"
#include "store/sqlite_key_store.h"
#include "store/sqlite_store.h"
#include "support/memory_store.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

class SqlitePlace {
 public:
  std::unique_ptr<Store> open() {
    auto store = open_store(folder_.path());
    REQUIRE_MESSAGE(store.ok(), store.error().text);
    return std::move(store.value());
  }
  std::unique_ptr<KeyStore> open_keys() {
    auto store = open_key_store(folder_.path());
    REQUIRE_MESSAGE(store.ok(), store.error().text);
    return std::move(store.value());
  }

 private:
  TemporaryFolder folder_;
};

class MemoryPlace {
 public:
  std::unique_ptr<Store> open() { return std::make_unique<MemoryStore>(rows_); }
  std::unique_ptr<KeyStore> open_keys() { return std::make_unique<MemoryStore>(rows_); }

 private:
  std::shared_ptr<MemoryRows> rows_ = std::make_shared<MemoryRows>();
};

Batch of_check_ins(std::vector<CheckInRow> rows) {
  Batch batch;
  batch.check_ins = std::move(rows);
  return batch;
}

template <class Row>
std::vector<double> seconds_of(const Result<std::vector<Row>>& rows) {
  std::vector<double> seconds;
  REQUIRE(rows.ok());
  for (const auto& row : rows.value()) seconds.push_back((row.at - at(0)).seconds());
  return seconds;
}

TEST_CASE_TEMPLATE("store: a new one knows nothing", Place, SqlitePlace, MemoryPlace) {
  Place place;
  CHECK(all_of(*place.open()) == "next outage 1, last written -\n");
}

TEST_CASE_TEMPLATE("store: a batch comes back whole after a restart", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  std::string before;
  {
    const auto store = place.open();
    for (std::uint64_t number : {1, 2, 3}) REQUIRE(store->commit(full_batch(number)).ok());
    before = all_of(*store);
  }
  CHECK(all_of(*place.open()) == before);
  CHECK(before.find("lagoon-3 3 - [] now {\"temperature_c\":25.1}") != std::string::npos);
}

TEST_CASE("store: file and fake show the same after the same batches") {
  SqlitePlace file;
  MemoryPlace fake;
  const auto real = file.open();
  const auto memory = fake.open();
  for (std::uint64_t number = 1; number <= 20; ++number) {
    const Batch batch = full_batch(number % 7 + 1);
    REQUIRE(real->commit(batch).ok());
    REQUIRE(memory->commit(batch).ok());
  }
  CHECK(all_of(*real) == all_of(*memory));
}

TEST_CASE_TEMPLATE("store: an empty batch is no work and no error", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  const auto store = place.open();
  CHECK(Batch{}.empty());
  CHECK(store->commit(Batch{}).ok());
  CHECK_FALSE(full_batch(1).empty());
  Batch only_next;
  only_next.next_outage = 4;
  CHECK_FALSE(only_next.empty());
  CHECK(store->commit(only_next).ok());
  CHECK(store->load().value().next_outage == 4);
}

TEST_CASE_TEMPLATE("store: every value of a check-in survives, also at the edges", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  CheckInRow full;
  full.at = at(0);
  full.controller = "lagoon-main";
  full.seq = std::numeric_limits<std::uint64_t>::max();
  full.uptime_s = 0.1;
  full.power = "battery";
  full.buffered = true;
  full.relayed_by = "breakwater";
  full.readings_json = "{\"ph\":8.1,\"note\":\"salt \xE2\x82\xAC\"}";
  CheckInRow zero = check_in(1, "lagoon-main");
  zero.seq = 0;
  zero.uptime_s = 0.0;
  zero.power = "mains";
  CheckInRow large = check_in(2, "lagoon-main");
  large.uptime_s = 1e300;
  const auto store = place.open();
  REQUIRE(store->commit(of_check_ins({full, zero, large, check_in(3, "b")})).ok());
  const auto rows = store->check_ins({});
  REQUIRE(rows.ok());
  REQUIRE(rows.value().size() == 4);
  CHECK(rows.value()[0].seq == full.seq);
  CHECK(rows.value()[0].uptime_s == 0.1);
  CHECK(rows.value()[0].power == "battery");
  CHECK(rows.value()[0].buffered);
  CHECK(rows.value()[0].relayed_by == "breakwater");
  CHECK(rows.value()[1].relayed_by.empty());
  CHECK(rows.value()[0].readings_json == full.readings_json);
  CHECK(rows.value()[1].seq == 0);
  CHECK(rows.value()[1].uptime_s == 0.0);
  CHECK_FALSE(rows.value()[1].buffered);
  CHECK(rows.value()[2].uptime_s == 1e300);
  CHECK_FALSE(rows.value()[3].seq.has_value());
  CHECK_FALSE(rows.value()[3].uptime_s.has_value());
  CHECK(rows.value()[3].power.empty());
  CHECK(rows.value()[3].controller == "b");
}

TEST_CASE_TEMPLATE("store: history is oldest first even when the clock was set back", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  for (double seconds : {5.0, 6.0, 2.0, 2.0, 5.0})
    REQUIRE(store->commit(of_check_ins({check_in(seconds, "a")})).ok());
  CHECK(seconds_of(store->check_ins({})) == std::vector<double>{2, 2, 5, 5, 6});
}

TEST_CASE_TEMPLATE("store: three thousand check-ins in one microsecond are all kept", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  std::vector<CheckInRow> rows(3000, check_in(1, "a"));
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].seq = i;
  rows.push_back(check_in(1.000001, "b"));
  REQUIRE(store->commit(of_check_ins(rows)).ok());
  const auto kept = store->check_ins({});
  REQUIRE(kept.ok());
  REQUIRE(kept.value().size() == 3001);
  for (std::size_t i = 0; i < 1024; ++i) CHECK(kept.value()[i].seq == i);
  // The file has room for 1024 rows a microsecond and moves the others on by one or two.
  CHECK(kept.value().back().at - at(1) <= Span::of_us(3));
}

TEST_CASE_TEMPLATE("store: a query takes from, until, newest and subject", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  const auto store = place.open();
  Batch batch;
  for (int second = 0; second < 10; ++second) {
    batch.check_ins.push_back(check_in(second, second % 2 == 0 ? "even" : "odd"));
    batch.watcher_rows.push_back({at(second), "uplink", second < 5 ? "first" : "second", true});
    batch.decisions.push_back(decision(second, second % 2 == 0 ? "even" : "odd", 1));
  }
  REQUIRE(store->commit(batch).ok());
  using Seconds = std::vector<double>;
  CHECK(seconds_of(store->check_ins({at(2), at(5), 0, ""})) == Seconds{2, 3, 4});
  CHECK(seconds_of(store->check_ins({at(2), {}, 3, ""})) == Seconds{7, 8, 9});
  CHECK(seconds_of(store->check_ins({at(9), {}, 3, ""})) == Seconds{9});
  CHECK(seconds_of(store->check_ins({{}, at(6), 2, "odd"})) == Seconds{3, 5});
  CHECK(seconds_of(store->check_ins({{}, {}, 0, "neither"})).empty());
  CHECK(seconds_of(store->check_ins({at(5), at(5), 0, ""})).empty());
  CHECK(seconds_of(store->decisions({at(2), at(5), 0, ""})) == Seconds{2, 3, 4});
  CHECK(seconds_of(store->decisions({{}, at(6), 2, "odd"})) == Seconds{3, 5});
  CHECK(seconds_of(store->watcher_rows({{}, {}, 2, "first"})) == Seconds{3, 4});
  CHECK(seconds_of(store->watcher_rows({at(8), {}, 0, ""})) == Seconds{8, 9});
  const WallTime far{std::numeric_limits<std::int64_t>::max()};
  CHECK(seconds_of(store->check_ins({at(8), far, 0, ""})) == Seconds{8, 9});
}

TEST_CASE_TEMPLATE("store: what was heard comes merged in time order, watcher rows first", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  Batch batch;
  batch.check_ins = {check_in(1, "a"), check_in(3, "b"), check_in(4, "a")};
  batch.watcher_rows = {{at(0), "start", "", true}, {at(3), "uplink", "r", false}};
  REQUIRE(store->commit(batch).ok());
  std::string seen;
  const auto visit = [&seen](const HeardRow& row) {
    if (const auto* heard = std::get_if<CheckInRow>(&row)) seen += heard->controller + " ";
    if (const auto* watcher = std::get_if<WatcherRow>(&row)) seen += watcher->kind + " ";
    return true;
  };
  REQUIRE(store->for_each_heard({}, visit).ok());
  CHECK(seen == "start a uplink b a ");
  seen.clear();
  REQUIRE(store->for_each_heard({at(1), {}, 0, "a"}, visit).ok());
  CHECK(seen == "a uplink a ");
  int rows = 0;
  REQUIRE(store->for_each_heard({}, [&rows](const HeardRow&) { return ++rows < 2; }).ok());
  CHECK(rows == 2);
  // Having left in the middle hinders no later work.
  CHECK(store->commit(full_batch(9)).ok());
  CHECK(store->check_ins({}).value().size() == 5);
}

TEST_CASE_TEMPLATE("store: a row of the same name replaces, decisions and attempts add up", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  REQUIRE(store->commit(full_batch(1)).ok());
  Batch second;
  second.controllers = {controller("lagoon-main")};
  second.controllers[0].contact = "silent";
  second.controllers[0].last_heard.reset();
  second.controllers[0].seq.reset();
  second.controllers[0].uptime_s.reset();
  second.outages = {outage(1)};
  second.outages[0].cause = "internet";
  second.outages[0].told = false;
  second.notices = {notice("notice-1-a", 1)};
  second.notices[0].state = "delivered";
  second.notices[0].attempts = 2;
  second.notices[0].ended_at = at(11);
  second.notices[0].last_answer = "250 kept";
  second.attempts = {attempt("notice-1-a", 2, 11)};
  second.decisions = {decision(2, "lagoon", 1)};
  second.calls = {call(1)};
  second.calls[0].acknowledged = true;
  second.calls[0].acknowledged_by = "robin";
  second.calls[0].acknowledged_at = at(12);
  second.calls[0].acknowledged_until = at(7212);
  second.calls[0].resumptions = 2;
  second.calls[0].next_at.reset();
  REQUIRE(store->commit(second).ok());
  const auto state = store->load();
  REQUIRE(state.ok());
  REQUIRE(state.value().controllers.size() == 2);
  CHECK(state.value().controllers[1].contact == "silent");
  CHECK_FALSE(state.value().controllers[1].last_heard.has_value());
  REQUIRE(state.value().outages.size() == 1);
  CHECK(state.value().outages[0].cause == "internet");
  CHECK_FALSE(state.value().outages[0].told);
  CHECK(state.value().outages[0].confidence == 0.1 + 0.2);
  REQUIRE(state.value().calls.size() == 1);
  CHECK(state.value().calls[0].acknowledged_by == "robin");
  CHECK(state.value().calls[0].acknowledged_at == at(12));
  CHECK(state.value().calls[0].acknowledged_until == at(7212));
  CHECK(state.value().calls[0].resumptions == 2);
  CHECK_FALSE(state.value().calls[0].next_at.has_value());
  const auto attempts = store->attempts_of("notice-1-a");
  REQUIRE(attempts.ok());
  REQUIRE(attempts.value().size() == 2);
  CHECK(attempts.value()[1].number == 2);
  const auto decisions = store->decisions({});
  REQUIRE(decisions.ok());
  REQUIRE(decisions.value().size() == 3);
  for (std::size_t i = 0; i < 3; ++i)
    CHECK(decisions.value()[i].number == static_cast<std::int64_t>(i) + 1);
}

TEST_CASE_TEMPLATE("store: a start reads what waits and what is open, not what is over", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  Batch batch;
  batch.outages = {outage(1, true), outage(2)};
  batch.calls = {call(1, true), call(2)};
  batch.notices = {notice("closed-waiting", 1), notice("closed-done", 1), notice("open-done", 2),
                   notice("drill-waiting", 0), notice("drill-done", 0)};
  for (std::size_t i : {1U, 2U, 4U}) batch.notices[i].state = "delivered";
  REQUIRE(store->commit(batch).ok());
  const auto state = store->load();
  REQUIRE(state.ok());
  std::string notices;
  for (const auto& row : state.value().notices) notices += row.notice + " ";
  CHECK(notices == "closed-waiting drill-waiting open-done ");
  REQUIRE(state.value().outages.size() == 1);
  CHECK(state.value().outages[0].id == 2);
  REQUIRE(state.value().calls.size() == 1);
  CHECK(state.value().calls[0].outage == 2);
  CHECK(store->notices_of(1).value().size() == 2);
  CHECK(store->notices_of(0).value().size() == 2);
  CHECK(store->notices_of(77).value().empty());
  CHECK(store->attempts_of("unknown").value().empty());
}

TEST_CASE_TEMPLATE("store: an outage's number is never given twice", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  const auto store = place.open();
  Batch batch;
  batch.outages = {outage(41, true)};
  REQUIRE(store->commit(batch).ok());
  CHECK(store->load().value().next_outage == 42);
  batch = {};
  batch.next_outage = 50;
  REQUIRE(store->commit(batch).ok());
  CHECK(store->load().value().next_outage == 50);
}

TEST_CASE_TEMPLATE("store: only a stop after the last start is good order", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  const auto store = place.open();
  const auto after = [&store](std::vector<WatcherRow> rows) {
    Batch batch;
    batch.watcher_rows = std::move(rows);
    REQUIRE(store->commit(batch).ok());
    return store->load().value().stopped_in_good_order;
  };
  CHECK_FALSE(after({{at(0), "uplink", "r", true}}));
  CHECK_FALSE(after({{at(1), "start", "", true}}));
  CHECK(after({{at(2), "stop", "", true}, {at(2), "uplink", "r", true}}));
  CHECK_FALSE(after({{at(3), "stop", "", true}, {at(4), "start", "", true}}));
  CHECK_FALSE(after({{at(5), "uplink", "r", true}}));
}

TEST_CASE_TEMPLATE("store: the last written moment is of any row but never a planned one", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  const auto newest = [&store](Batch batch) {
    REQUIRE(store->commit(batch).ok());
    return (store->load().value().last_written.value() - at(0)).seconds();
  };
  Batch batch;
  batch.controllers = {controller("a")};
  CHECK(newest(batch) == 5);
  batch = {};
  batch.notices = {notice("n", 1)};  // Next attempt planned for second 9'000'000.
  batch.calls = {call(1)};           // Next step planned for second 8'000'000.
  CHECK(newest(batch) == 10);
  batch = {};
  batch.attempts = {attempt("n", 1, 20)};
  CHECK(newest(batch) == 20);
  CHECK(newest(of_check_ins({check_in(30, "a")})) == 30);
  CHECK(newest(of_check_ins({check_in(29, "a")})) == 30);
  batch = {};
  batch.decisions = {decision(40, "a", 1)};
  CHECK(newest(batch) == 40);
  batch = {};
  batch.watcher_rows = {{at(50), "uplink", "r", true}};
  CHECK(newest(batch) == 50);
  batch = {};
  batch.notices = {notice("n", 1)};
  batch.notices[0].ended_at = at(60);
  CHECK(newest(batch) == 60);
  batch = {};
  batch.outages = {outage(1)};
  batch.outages[0].confirmed_at = at(70);
  CHECK(newest(batch) == 70);
}

TEST_CASE_TEMPLATE("store: a row that no file can hold is refused with its whole batch", Place,
                   SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  REQUIRE(store->commit(full_batch(1)).ok());
  const std::string before = all_of(*store);
  const auto refused = [&store](const Batch& batch) {
    const auto result = store->commit(batch);
    return !result.ok() && result.error().code == Errc::bad_input && !result.error().text.empty();
  };
  Batch batch = full_batch(2);
  batch.check_ins[1].power = "solar";
  CHECK(refused(batch));
  batch = full_batch(2);
  batch.check_ins[1].at = {std::numeric_limits<std::int64_t>::max()};
  CHECK(refused(batch));
  batch = full_batch(2);
  batch.watcher_rows[0].kind = "pause";
  CHECK(refused(batch));
  CHECK(all_of(*store) == before);
  // Names that were numbered in the refused batches are numbered anew.
  CHECK(store->commit(full_batch(2)).ok());
  CHECK(store->check_ins({{}, {}, 0, "lagoon-2"}).value().size() == 1);
}

TEST_CASE_TEMPLATE("key store: a second key replaces the first and says so", Place, SqlitePlace,
                   MemoryPlace) {
  Place place;
  {
    const auto keys = place.open_keys();
    CHECK(keys->keys().value().empty());
    CHECK_FALSE(keys->set_key({"reef-main", "aa", at(1)}).value());
    CHECK_FALSE(keys->set_key({"lagoon-main", "bb", at(2)}).value());
    CHECK(keys->set_key({"reef-main", "cc", at(3), "5a"}).value());
  }
  const auto rows = place.open_keys()->keys();
  REQUIRE(rows.ok());
  REQUIRE(rows.value().size() == 2);
  CHECK(rows.value()[0].controller == "lagoon-main");
  CHECK(rows.value()[0].key_hash == "bb");
  CHECK(rows.value()[1].key_hash == "cc");
  CHECK(rows.value()[1].made_at == at(3));
  CHECK(rows.value()[0].mac_state.empty());
  CHECK(rows.value()[1].mac_state == "5a");
}

TEST_CASE_TEMPLATE("key store: works beside an open store", Place, SqlitePlace, MemoryPlace) {
  Place place;
  const auto store = place.open();
  const auto keys = place.open_keys();
  for (std::uint64_t number = 1; number <= 5; ++number) {
    REQUIRE(store->commit(full_batch(number)).ok());
    REQUIRE(keys->set_key({"lagoon-" + std::to_string(number), "aa", at(1)}).ok());
  }
  CHECK(keys->keys().value().size() == 5);
  CHECK(store->decisions({}).value().size() == 10);
}

TEST_CASE("fake store: the Nth call fails once, or from then on") {
  MemoryStore store;
  store.faults.fail_at(2, false);
  CHECK(store.commit(full_batch(1)).ok());
  CHECK(store.commit(full_batch(2)).error().code == Errc::storage);
  CHECK(store.commit(full_batch(3)).ok());
  CHECK(store.rows().decisions.size() == 4);
  store.faults.fail_at(1, true);
  CHECK_FALSE(store.load().ok());
  CHECK_FALSE(store.keys().ok());
  CHECK(store.faults.failed() == 2);
  store.faults.heal();
  CHECK(store.load().ok());
}

}  // namespace
}  // namespace ebbwatch::test
