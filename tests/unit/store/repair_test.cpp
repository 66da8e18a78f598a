// Damage of many kinds at seeded places: the watcher always gets a sound database back, nothing of
// the damaged one is deleted, and what was readable is there. Layout of the file: "Database File
// Format" of SQLite's documentation (header of 100 bytes, pages).
#include "store/repair.h"

#include <doctest/doctest.h>
#include <sqlite3.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>

#include "rows.h"
#include "store/backup.h"
#include "store/entries.h"
#include "store/file_names.h"
#include "store/sqlite_key_store.h"
#include "store/sqlite_password_store.h"
#include "store/sqlite_store.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

namespace fs = std::filesystem;

constexpr std::uint64_t batches = 60;

std::string read_all(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void write_all(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

/// A database of some hundred pages with every kind of row.
void fill(const std::string& folder) {
  const auto store = open_store(folder);
  REQUIRE(store.ok());
  for (std::uint64_t number = 1; number <= batches; ++number) {
    auto batch = full_batch(number);
    for (int i = 0; i < 20; ++i)
      batch.check_ins.push_back(check_in(static_cast<double>(number * 100 + i), "lagoon-main"));
    REQUIRE(store.value()->commit(batch).ok());
  }
  const auto keys = open_key_store(folder);
  REQUIRE(keys.ok());
  for (int i = 0; i < 40; ++i)
    REQUIRE(keys.value()->set_key({"tank-" + std::to_string(i), "aa", at(i), "bb"}).ok());
  const auto passwords = open_password_store(folder);
  REQUIRE(passwords.ok());
  REQUIRE(passwords.value()->set_password({"host", "scrypt", at(1)}).ok());
}

std::int64_t rows_of(const Repair& repair, const std::string& table) {
  for (const auto& one : repair.tables)
    if (one.name == table) return one.rows;
  return -1;
}

/// A watcher can go on with what lies in the folder.
void expect_usable(const std::string& folder) {
  CHECK(damage_of(database_path(folder), true).empty());
  const auto store = open_store(folder);
  REQUIRE_MESSAGE(store.ok(), store.error().text);
  const auto state = store.value()->load();
  REQUIRE_MESSAGE(state.ok(), state.error().text);
  CHECK(store.value()->commit(full_batch(1'000'000)).ok());
}

TEST_CASE("repair: a sound database is left byte for byte") {
  TemporaryFolder folder;
  fill(folder.path());
  const auto before = read_all(database_path(folder.path()));
  const auto repaired = repair_if_damaged(folder.path(), at(0));
  REQUIRE(repaired.ok());
  CHECK_FALSE(repaired.value().has_value());
  CHECK(read_all(database_path(folder.path())) == before);
  CHECK(set_aside_remarks(folder.path()).empty());
}

TEST_CASE("repair: nothing there, and what is not ours to judge") {
  TemporaryFolder folder;
  CHECK_FALSE(repair_if_damaged(folder.path(), at(0)).value().has_value());
  sqlite3* handle = nullptr;
  REQUIRE(sqlite3_open(database_path(folder.path()).c_str(), &handle) == SQLITE_OK);
  sqlite3_exec(handle, "CREATE TABLE songs(title); PRAGMA application_id = 77", nullptr, nullptr,
               nullptr);
  sqlite3_close(handle);
  const auto before = read_all(database_path(folder.path()));
  CHECK_FALSE(repair_if_damaged(folder.path(), at(0)).value().has_value());
  CHECK(read_all(database_path(folder.path())) == before);
}

TEST_CASE("repair: one broken page of check-ins costs what lay on it, and nothing else") {
  TemporaryFolder folder;
  fill(folder.path());
  const auto path = database_path(folder.path());
  std::string bytes = read_all(path);
  // A leaf page of the table of check-ins, found by SQLite itself.
  sqlite3* handle = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &handle) == SQLITE_OK);
  std::int64_t page = 0;
  std::int64_t total = 0;
  const auto number = [](void* into, int, char** values, char**) {
    *static_cast<std::int64_t*>(into) = std::stoll(values[0]);
    return 0;
  };
  sqlite3_exec(handle, "SELECT count(*) FROM check_ins", number, &total, nullptr);
  sqlite3_exec(handle, "SELECT rootpage FROM sqlite_schema WHERE name = 'check_ins'", number, &page,
               nullptr);
  sqlite3_close(handle);
  const auto root = static_cast<std::size_t>(page - 1) * 4096;
  REQUIRE(bytes[root] == 5);  // An interior page of a table: its first cell names the first leaf.
  const auto byte = [&bytes](std::size_t place) {
    return static_cast<std::size_t>(static_cast<unsigned char>(bytes[place]));
  };
  const std::size_t cell = root + byte(root + 12) * 256 + byte(root + 13);
  const std::size_t leaf =
      byte(cell) << 24 | byte(cell + 1) << 16 | byte(cell + 2) << 8 | byte(cell + 3);
  bytes.replace((leaf - 1) * 4096, 4096, std::string(4096, '\xee'));
  write_all(path, bytes);
  const auto repaired = repair_if_damaged(folder.path(), at(9000));
  REQUIRE(repaired.ok());
  REQUIRE(repaired.value().has_value());
  const auto& repair = *repaired.value();
  CHECK(rows_of(repair, "keys") == 40);
  CHECK(rows_of(repair, "board_passwords") == 1);
  CHECK(rows_of(repair, "outages") > 0);
  const auto left = rows_of(repair, "check_ins");
  CHECK(left < total);
  CHECK(left > total - 200);  // At most a page of rows of 20 bytes or more.
  CHECK(read_all(repair.put_aside) == bytes);
  CHECK(read_all(repair.put_aside + ".txt").find("check_ins") != std::string::npos);
  REQUIRE(set_aside_remarks(folder.path()).size() == 1);
  CHECK(set_aside_remarks(folder.path()).front().find(repair.put_aside) != std::string::npos);
  expect_usable(folder.path());
}

TEST_CASE("repair: damage at seeded places never keeps a watcher from starting") {
  TemporaryFolder whole;
  fill(whole.path());
  const std::string sound = read_all(database_path(whole.path()));
  const char* seed = std::getenv("SIM_SEED");
  const auto first = seed == nullptr ? 1U : static_cast<unsigned>(std::atoi(seed));
  int found = 0;
  for (unsigned round = first; round < first + 40; ++round) {
    CAPTURE(round);
    std::mt19937 chance(round);
    TemporaryFolder folder;
    std::string bytes = sound;
    if (round % 4 == 0) bytes.resize(chance() % bytes.size());
    for (unsigned hits = 0; hits < 1 + round % 7 && !bytes.empty(); ++hits) {
      const auto length = std::min<std::size_t>(bytes.size(), 512 + chance() % 8192);
      const auto place = chance() % (bytes.size() - length + 1);
      for (std::size_t i = 0; i < length; ++i) bytes[place + i] = static_cast<char>(chance());
    }
    write_all(database_path(folder.path()), bytes);
    const auto repaired = repair_if_damaged(folder.path(), at(9000));
    REQUIRE_MESSAGE(repaired.ok(), repaired.error().text);
    if (repaired.value()) {
      ++found;
      CHECK(read_all(repaired.value()->put_aside) == bytes);
    }
    // Numbers of the header alone may make the file another program's or a later version's.
    if (repaired.value() || bytes == sound) expect_usable(folder.path());
  }
  CHECK(found > 30);
}

TEST_CASE(
    "repair: a file without anything in it, and garbage, are damage; keys come from the copy") {
  for (const std::string& bytes : {std::string(), std::string(8192, 'x')}) {
    TemporaryFolder folder;
    fill(folder.path());
    REQUIRE(keep_copy(folder.path()).ok());
    write_all(database_path(folder.path()), bytes);
    const auto repaired = repair_if_damaged(folder.path(), at(9000));
    REQUIRE(repaired.ok());
    REQUIRE(repaired.value().has_value());
    CHECK(repaired.value()->from_kept_copy);
    const auto keys = open_key_store(folder.path());
    REQUIRE(keys.ok());
    CHECK(keys.value()->keys().value().size() == 40);
    // Numbers of outages that people were told are not given a second time.
    const auto store = open_store(folder.path());
    REQUIRE(store.ok());
    CHECK(store.value()->load().value().next_outage > batches + 900);
  }
}

TEST_CASE("backup: the same rows come back, and the former database is put aside") {
  TemporaryFolder folder;
  fill(folder.path());
  const std::string file = folder.path() + "/it's a backup";
  const auto written = write_backup(folder.path(), file);
  REQUIRE_MESSAGE(written.ok(), written.error().text);
  CHECK(written.value().bytes == fs::file_size(file));
  CHECK((fs::status(file).permissions() & fs::perms::mask) ==
        (fs::perms::owner_read | fs::perms::owner_write));
  CHECK_FALSE(fs::exists(file + ".part"));
  CHECK(write_backup(folder.path(), file).error().code == Errc::bad_input);
  std::size_t decisions = 0;
  {
    const auto store = open_store(folder.path());
    decisions = store.value()->decisions({}).value().size();
    REQUIRE(store.value()->commit(full_batch(77'000)).ok());
    CHECK(restore_backup(folder.path(), file, at(5)).error().code == Errc::busy);
  }
  const auto later = open_store(folder.path()).value()->load().value().next_outage;
  const auto before = read_all(file);
  const auto restored = restore_backup(folder.path(), file, at(5));
  REQUIRE_MESSAGE(restored.ok(), restored.error().text);
  CHECK(restored.value().put_aside.find(".replaced-20231114T221325Z") != std::string::npos);
  CHECK(fs::exists(restored.value().put_aside));
  CHECK(restored.value().contents.counts == written.value().counts);
  CHECK(read_all(file) == before);
  const auto store = open_store(folder.path());
  CHECK(store.value()->load().value().next_outage == later);
  CHECK(store.value()->decisions({}).value().size() == decisions);
}

TEST_CASE("backup: what is no good backup changes nothing") {
  TemporaryFolder folder;
  fill(folder.path());
  const auto before = read_all(database_path(folder.path()));
  const std::string file = folder.path() + "/b";
  REQUIRE(write_backup(folder.path(), file).ok());
  const auto expect = [&](const std::string& bytes, Errc code) {
    write_all(file, bytes);
    const auto restored = restore_backup(folder.path(), file, at(5));
    REQUIRE_FALSE(restored.ok());
    CHECK(restored.error().code == code);
    CHECK(read_all(database_path(folder.path())) == before);
  };
  const std::string good = read_all(file);
  std::string bad = good;
  for (std::size_t page = 3; page < bad.size() / 4096; page += 5)
    bad.replace(page * 4096, 100, std::string(100, '\x99'));
  expect(bad, Errc::bad_input);
  expect(good.substr(0, good.size() / 2), Errc::bad_input);
  expect("", Errc::bad_input);
  expect("notes", Errc::bad_input);
  bad = good;
  bad[63] = '\x7f';  // user_version: big-endian at offset 60.
  expect(bad, Errc::newer_version);
  bad = good;
  bad[68] = 'x';  // application_id.
  expect(bad, Errc::refused);
  CHECK(restore_backup(folder.path(), folder.path() + "/none", at(5)).error().code ==
        Errc::not_found);
}

TEST_CASE("export: people's entries, and no hash") {
  TemporaryFolder folder;
  fill(folder.path());
  const auto groups = people_entries(folder.path());
  REQUIRE_MESSAGE(groups.ok(), groups.error().text);
  std::string all;
  for (const auto& group : groups.value())
    for (const auto& object : group.objects) all += group.name + " " + object + "\n";
  CHECK(
      all.find(R"(controllers {"controller":"tank-7","key_made_at":"2023-11-14T22:13:27.000Z"})") !=
      std::string::npos);
  CHECK(all.find("scrypt") == std::string::npos);
  CHECK(all.find("put_away {") != std::string::npos);
}

}  // namespace
}  // namespace ebbwatch::test
