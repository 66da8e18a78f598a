// What the disk can do to the store: after "How SQLite Is Tested", section 3 (anomalies): fail at
// operation 1, 2, 3 … until the work completes, once and for good, then the same during recovery.
#include <doctest/doctest.h>

#include <filesystem>

#include "rows.h"
#include "store/migrations.h"
#include "store/sqlite_store.h"
#include "support/faulty_vfs.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

namespace fs = std::filesystem;

Result<std::unique_ptr<Store>> open_at(const std::string& folder, const std::string& vfs = "") {
  StoreOptions options;
  options.database.vfs = vfs;
  options.database.busy_wait = Span::of_s(0);
  return open_store(folder, options);
}

std::unique_ptr<Store> must_open(const std::string& folder, const std::string& vfs = "") {
  auto store = open_at(folder, vfs);
  REQUIRE_MESSAGE(store.ok(), store.error().text);
  return std::move(store.value());
}

/// What a process would find that started now while this one is gone.
std::string seen_after_crash(const std::string& folder) {
  TemporaryFolder copy;
  for (const char* suffix : {"", "-wal"})
    if (fs::exists(database_path(folder) + suffix))
      fs::copy_file(database_path(folder) + suffix, database_path(copy.path()) + suffix);
  return all_of(*must_open(copy.path()));
}

struct Expected {
  std::string before;  ///< After batch 1.
  std::string after;   ///< After batches 1 and 2.
};

Expected expected() {
  TemporaryFolder folder;
  const auto store = must_open(folder.path());
  REQUIRE(store->commit(full_batch(1)).ok());
  Expected texts{all_of(*store), ""};
  REQUIRE(store->commit(full_batch(2)).ok());
  texts.after = all_of(*store);
  return texts;
}

/// One round of the loop. @return false when the commit completed before the Nth operation.
bool commit_with_fault(std::uint64_t nth, bool sticky, FaultyVfs::Fault fault,
                       const Expected& texts) {
  CAPTURE(nth);
  CAPTURE(sticky);
  FaultyVfs vfs;
  vfs.fault = fault;
  TemporaryFolder folder;
  auto store = must_open(folder.path(), vfs.name());
  REQUIRE(store->commit(full_batch(1)).ok());
  vfs.faults.fail_at(nth, sticky);
  const auto result = store->commit(full_batch(2));
  const bool struck = vfs.faults.failed() > 0;
  const std::string after_crash = seen_after_crash(folder.path());
  vfs.faults.heal();
  if (result.ok()) {
    CHECK(after_crash == texts.after);
  } else {
    CHECK_FALSE(result.error().text.empty());
    CHECK(result.error().code == (fault == FaultyVfs::Fault::locked ? Errc::busy : Errc::storage));
    CHECK(all_of(*store) == texts.before);
    // A disk that stays broken may keep the whole of the refused batch, never a part.
    CHECK((after_crash == texts.before || (sticky && after_crash == texts.after)));
    REQUIRE(store->commit(full_batch(2)).ok());
  }
  CHECK(all_of(*store) == texts.after);
  store.reset();
  CHECK(all_of(*must_open(folder.path())) == texts.after);
  return struck;
}

void commit_with_faults(FaultyVfs::Fault fault, std::uint64_t at_least) {
  const Expected texts = expected();
  for (const bool sticky : {false, true}) {
    std::uint64_t nth = 1;
    while (commit_with_fault(nth, sticky, fault, texts)) {
      REQUIRE(nth < 500);
      ++nth;
    }
    CHECK(nth > at_least);
  }
}

TEST_CASE(
    "store: whatever operation of the disk fails in a commit, all of it is stored or nothing") {
  commit_with_faults(FaultyVfs::Fault::io_error, 10);
}

TEST_CASE("store: a disk that is full at any write of a commit leaves nothing of the batch") {
  commit_with_faults(FaultyVfs::Fault::disk_full, 5);
}

TEST_CASE("store: a disk that becomes read-only at any write leaves nothing of the batch") {
  commit_with_faults(FaultyVfs::Fault::read_only, 5);
}

TEST_CASE("store: a lock that somebody else holds makes a commit busy and changes nothing") {
  commit_with_faults(FaultyVfs::Fault::locked, 1);
}

TEST_CASE("store: a fault at any operation of the first opening leaves a folder that opens later") {
  for (const auto fault : {FaultyVfs::Fault::io_error, FaultyVfs::Fault::disk_full,
                           FaultyVfs::Fault::locked, FaultyVfs::Fault::read_only}) {
    for (const bool sticky : {false, true}) {
      for (std::uint64_t nth = 1;; ++nth) {
        CAPTURE(nth);
        REQUIRE(nth < 500);
        FaultyVfs vfs;
        vfs.fault = fault;
        TemporaryFolder folder;
        vfs.faults.fail_at(nth, sticky);
        {
          const auto store = open_at(folder.path(), vfs.name());
          if (!store.ok()) CHECK_FALSE(store.error().text.empty());
        }
        const bool struck = vfs.faults.failed() > 0;
        const auto store = must_open(folder.path());
        CHECK(all_of(*store) == "next outage 1, last written -\n");
        CHECK(store->commit(full_batch(1)).ok());
        if (!struck) break;
      }
    }
  }
}

TEST_CASE("store: a fault at any operation of the recovery after a crash loses nothing") {
  TemporaryFolder crashed;
  FaultyVfs dying;
  std::string whole;
  {
    const auto store = must_open(crashed.path(), dying.name());
    for (std::uint64_t number : {1, 2, 3}) REQUIRE(store->commit(full_batch(number)).ok());
    whole = all_of(*store);
    dying.cut_power();  // Closing cannot tidy up any more: the write-ahead log stays.
  }
  REQUIRE(fs::file_size(database_path(crashed.path()) + "-wal") > 0);
  for (const bool sticky : {false, true}) {
    for (std::uint64_t nth = 1;; ++nth) {
      CAPTURE(nth);
      REQUIRE(nth < 500);
      TemporaryFolder folder;
      for (const char* suffix : {"", "-wal"})
        fs::copy_file(database_path(crashed.path()) + suffix,
                      database_path(folder.path()) + suffix);
      FaultyVfs vfs;
      vfs.faults.fail_at(nth, sticky);
      { const auto store = open_at(folder.path(), vfs.name()); }
      CHECK(all_of(*must_open(folder.path())) == whole);
      if (vfs.faults.failed() == 0) break;
    }
  }
}

TEST_CASE("store: what was committed with decisions outlives a power cut") {
  TemporaryFolder folder;
  FaultyVfs vfs;
  vfs.remember_synced();
  std::string whole;
  for (std::uint64_t number = 1; number <= 10; ++number) {
    {
      const auto store = must_open(folder.path(), vfs.name());
      if (number > 1) CHECK(all_of(*store) == whole);
      Batch plain;
      plain.check_ins = {check_in(static_cast<double>(number) - 0.5, "lagoon-main")};
      REQUIRE(store->commit(plain).ok());
      REQUIRE(store->commit(full_batch(number)).ok());
      whole = all_of(*store);
      vfs.cut_power();
    }
    vfs.restore_power();
  }
  CHECK(all_of(*must_open(folder.path())) == whole);
}

TEST_CASE("store: a power cut may take plain check-ins, from the newest backwards") {
  TemporaryFolder folder;
  FaultyVfs vfs;
  vfs.remember_synced();
  {
    const auto store = must_open(folder.path(), vfs.name());
    REQUIRE(store->commit(full_batch(1)).ok());
    Batch plain;
    plain.check_ins = {check_in(2, "lagoon-main")};
    plain.watcher_rows = {{at(2), "uplink", "resolver", true}};
    plain.controllers = {controller("lagoon-main")};
    REQUIRE(store->commit(plain).ok());
    CHECK(store->check_ins({}).value().size() == 3);
    vfs.cut_power();
  }
  vfs.restore_power();
  // Lost here, which also shows that this test's power cut takes what was not synced.
  CHECK(must_open(folder.path())->check_ins({}).value().size() == 2);
}

TEST_CASE("store: power that fails at any operation of a commit leaves the batch whole or absent") {
  const Expected texts = expected();
  bool absent = false;
  for (std::uint64_t nth = 1;; ++nth) {
    CAPTURE(nth);
    REQUIRE(nth < 500);
    TemporaryFolder folder;
    FaultyVfs vfs;
    vfs.remember_synced();
    bool committed = false;
    {
      const auto store = must_open(folder.path(), vfs.name());
      REQUIRE(store->commit(full_batch(1)).ok());
      vfs.faults.fail_at(nth, true);
      committed = store->commit(full_batch(2)).ok();
      vfs.cut_power();
    }
    vfs.restore_power();
    const std::string found = all_of(*must_open(folder.path()));
    CHECK((found == texts.after || (!committed && found == texts.before)));
    absent = absent || found == texts.before;
    if (vfs.faults.failed() == 0) break;
  }
  CHECK(absent);
}

TEST_CASE("store: a full database refuses a batch in words and takes it when there is room") {
  TemporaryFolder folder;
  auto database = open_database(folder.path());
  REQUIRE(database.ok());
  const auto pages = database.value().number("PRAGMA page_count");
  REQUIRE(
      database.value().run("PRAGMA max_page_count = " + std::to_string(pages.value() + 1)).ok());
  auto store = SqliteStore::prepare(std::move(database.value()), std::nullopt);
  REQUIRE(store.ok());
  Batch batch = full_batch(1);
  batch.decisions[0].json.assign(100'000, 'x');
  const auto result = store.value()->commit(batch);
  REQUIRE_FALSE(result.ok());
  CHECK(result.error().code == Errc::storage);
  CHECK(result.error().text.find("is full") != std::string::npos);
  CHECK(all_of(*store.value()) == "next outage 1, last written -\n");
  CHECK(store.value()->commit(full_batch(1)).ok());  // A smaller one still fits.
}

TEST_CASE("store: another program's lock makes a commit busy, and it works when that ends") {
  TemporaryFolder folder;
  const auto store = must_open(folder.path());
  auto other = open_database(folder.path());
  REQUIRE(other.ok());
  {
    const auto held = Transaction::begin(other.value());
    REQUIRE(held.ok());
    const auto result = store->commit(full_batch(1));
    REQUIRE_FALSE(result.ok());
    CHECK(result.error().code == Errc::busy);
    CHECK(result.error().text.find("locked") != std::string::npos);
    CHECK(store->load().ok());  // Reading goes on.
  }
  CHECK(store->commit(full_batch(1)).ok());
}

TEST_CASE("store: somebody who reads history for long does not hinder the watcher") {
  TemporaryFolder folder;
  const auto store = must_open(folder.path());
  REQUIRE(store->commit(full_batch(1)).ok());
  StoreOptions beside;
  beside.sole_watcher = false;
  auto reader = open_store(folder.path(), beside);
  REQUIRE(reader.ok());
  int rows = 0;
  const auto read = reader.value()->for_each_heard({}, [&](const HeardRow&) {
    CHECK(store->commit(full_batch(static_cast<std::uint64_t>(++rows) + 1)).ok());
    return true;
  });
  CHECK(read.ok());
  CHECK(rows == 3);  // What was there when the reading began.
  CHECK(store->check_ins({}).value().size() == 8);
}

}  // namespace
}  // namespace ebbwatch::test
