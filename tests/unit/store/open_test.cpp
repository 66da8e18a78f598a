// What may lie in a state folder, who may open it, and what opening must leave alone.
#include <doctest/doctest.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "rows.h"
#include "store/migrations.h"
#include "store/sqlite_key_store.h"
#include "store/sqlite_store.h"
#include "store/sqlite_wall_addresses.h"
#include "support/child.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

namespace fs = std::filesystem;

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void write_bytes(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

unsigned mode_of(const std::string& path) {
  struct stat found {};
  REQUIRE(::stat(path.c_str(), &found) == 0);
  return found.st_mode & 07777U;
}

/// Statements on a file of any kind, without our own checks.
void run_raw(const std::string& path, const std::string& sql) {
  sqlite3* handle = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &handle) == SQLITE_OK);
  CHECK(sqlite3_exec(handle, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  CHECK(sqlite3_close(handle) == SQLITE_OK);
}

void expect_refused_untouched(const std::string& folder, Errc code, const std::string& word) {
  const std::string file = bytes_of(database_path(folder));
  const std::string log = bytes_of(database_path(folder) + "-wal");
  const unsigned mode = mode_of(database_path(folder));
  const auto store = open_store(folder);
  REQUIRE_FALSE(store.ok());
  CHECK(store.error().code == code);
  CHECK_MESSAGE(store.error().text.find(word) != std::string::npos, store.error().text);
  CHECK(store.error().text.find(database_path(folder)) != std::string::npos);
  const auto keys = open_key_store(folder);
  REQUIRE_FALSE(keys.ok());
  CHECK(keys.error().code == code);
  CHECK(bytes_of(database_path(folder)) == file);
  CHECK(bytes_of(database_path(folder) + "-wal") == log);
  CHECK(mode_of(database_path(folder)) == mode);
}

TEST_CASE("open: the folder is made, and nobody but its owner may read the database") {
  TemporaryFolder parent;
  const std::string folder = parent.path() + "/state/ebbwatch";
  const auto store = open_store(folder);
  REQUIRE(store.ok());
  REQUIRE(store.value()->commit(full_batch(1)).ok());
  CHECK(mode_of(folder) == 0750);
  for (const char* suffix : {"", "-wal", "-shm"}) {
    CAPTURE(suffix);
    CHECK(mode_of(database_path(folder) + suffix) == 0600);
  }
}

TEST_CASE("open: a database that others may read is closed to them") {
  TemporaryFolder folder;
  { REQUIRE(open_store(folder.path()).ok()); }
  fs::permissions(database_path(folder.path()), fs::perms{0644});
  REQUIRE(open_store(folder.path()).ok());
  CHECK(mode_of(database_path(folder.path())) == 0600);
}

TEST_CASE("open: a file made by root goes to the owner of the folder") {
  if (::geteuid() != 0) return;  // Only root can give files away; nothing to show otherwise.
  TemporaryFolder folder;
  REQUIRE(::chown(folder.path().c_str(), 65534, 65534) == 0);
  const auto keys = open_key_store(folder.path());
  REQUIRE(keys.ok());
  REQUIRE(keys.value()->set_key({"lagoon-main", "aa", at(1)}).ok());
  for (const char* suffix : {"", "-wal", "-shm"}) {
    struct stat found {};
    REQUIRE(::stat((database_path(folder.path()) + suffix).c_str(), &found) == 0);
    CHECK(found.st_uid == 65534);
  }
}

TEST_CASE("open: a database from a later version is refused and left byte for byte") {
  TemporaryFolder folder;
  { REQUIRE(open_store(folder.path()).ok()); }
  const std::string later = std::to_string(schema_version_newest + 1);
  run_raw(database_path(folder.path()), "PRAGMA user_version = " + later);
  expect_refused_untouched(folder.path(), Errc::newer_version, "later version");
}

TEST_CASE("open: a later version that is only in the write-ahead log is refused as well") {
  TemporaryFolder folder;
  {
    auto database = open_database(folder.path());
    REQUIRE(database.ok());
    REQUIRE(database.value().run("PRAGMA user_version = 99").ok());
    database.value().leave_untouched();
  }
  REQUIRE(fs::file_size(database_path(folder.path()) + "-wal") > 0);
  expect_refused_untouched(folder.path(), Errc::newer_version, "99");
}

TEST_CASE("open: what is not a database is refused and left byte for byte") {
  const std::string text(4096, 'x');
  for (const std::string& bytes : {text, std::string("SQLite format 3"), std::string(50, '\0'),
                                   std::string("SQLite format 3\0", 16) + std::string(20, '\7')}) {
    TemporaryFolder folder;
    write_bytes(database_path(folder.path()), bytes);
    expect_refused_untouched(folder.path(), Errc::storage, "not a database");
  }
}

TEST_CASE("open: a right beginning with a senseless header is called damaged and left alone") {
  TemporaryFolder folder;
  std::string bytes(8192, '\7');
  bytes.replace(0, 16, std::string("SQLite format 3\0", 16));
  bytes.replace(68, 4, "EBBW");
  bytes.replace(60, 4, std::string("\0\0\0\3", 4));
  write_bytes(database_path(folder.path()), bytes);
  expect_refused_untouched(folder.path(), Errc::storage, "damaged");
}

TEST_CASE("open: another program's database is refused and left byte for byte") {
  {
    TemporaryFolder folder;
    run_raw(database_path(folder.path()), "CREATE TABLE songs(title); PRAGMA application_id = 77");
    expect_refused_untouched(folder.path(), Errc::refused, "another program");
  }
  TemporaryFolder folder;
  run_raw(database_path(folder.path()), "CREATE TABLE songs(title)");
  expect_refused_untouched(folder.path(), Errc::refused, "another program");
}

TEST_CASE("open: damage on any page gives a result or an error, never a crash or silence") {
  TemporaryFolder source;
  {
    const auto store = open_store(source.path());
    for (std::uint64_t number = 1; number <= 30; ++number)
      REQUIRE(store.value()->commit(full_batch(number)).ok());
  }
  const std::string good = bytes_of(database_path(source.path()));
  constexpr std::size_t page = 4096;
  int told = 0;
  for (std::size_t begin = 0; begin < good.size(); begin += page) {
    CAPTURE(begin / page);
    TemporaryFolder folder;
    std::string bad = good;
    // Page 1 keeps its file header, so that the table of tables is what is broken.
    const std::size_t from = begin == 0 ? 100 : begin;
    bad.replace(from, begin + page - from, std::string(begin + page - from, '\xA5'));
    write_bytes(database_path(folder.path()), bad);
    const auto store = open_store(folder.path());
    std::string text = store.ok() ? all_of(*store.value()) : store.error().text;
    if (store.ok() && !store.value()->commit(full_batch(31)).ok()) text += "is damaged";
    told += text.find("is damaged") != std::string::npos ? 1 : 0;
  }
  CHECK(told > static_cast<int>(good.size() / page / 2));
}

TEST_CASE("open: a folder without permission is refused with the reason and a remedy") {
  TemporaryFolder folder;
  { REQUIRE(open_store(folder.path()).ok()); }
  fs::permissions(folder.path(), fs::perms{0755});
  const auto refused = [&folder] {
    if (::geteuid() == 0 && ::setuid(65534) != 0) return 1;
    const auto store = open_store(folder.path());
    const auto keys = open_key_store(folder.path());
    if (store.ok() || keys.ok()) return 2;
    if (store.error().code != Errc::storage || keys.error().code != Errc::storage) return 3;
    return keys.error().text.find("Permission denied") == std::string::npos ? 4 : 0;
  };
  if (::geteuid() != 0) {
    fs::permissions(database_path(folder.path()), fs::perms{0});
    fs::permissions(folder.path(), fs::perms{0500});
  }
  CHECK(in_child(refused) == 0);
  fs::permissions(folder.path(), fs::perms{0700});
}

TEST_CASE("open: a folder that cannot be made is refused with the reason") {
  TemporaryFolder parent;
  write_bytes(parent.path() + "/file", "");
  const auto store = open_store(parent.path() + "/file/state");
  REQUIRE_FALSE(store.ok());
  CHECK(store.error().code == Errc::storage);
  CHECK(store.error().text.find("cannot be made") != std::string::npos);
}

TEST_CASE("open: the operating system's own limit on files refuses a batch, and lifting it helps") {
  TemporaryFolder folder;
  const auto work = [&folder] {
    std::signal(SIGXFSZ, SIG_IGN);
    const auto store = open_store(folder.path());
    if (!store.ok() || !store.value()->commit(full_batch(1)).ok()) return 1;
    const std::string before = all_of(*store.value());
    rlimit limit{};
    if (::getrlimit(RLIMIT_FSIZE, &limit) != 0) return 2;
    const rlim_t lifted = limit.rlim_cur;
    limit.rlim_cur = fs::file_size(database_path(folder.path()) + "-wal") + 100;
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 3;
    const auto result = store.value()->commit(full_batch(2));
    if (result.ok() || result.error().code != Errc::storage) return 4;
    if (all_of(*store.value()) != before) return 5;
    limit.rlim_cur = lifted;
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 6;
    return store.value()->commit(full_batch(2)).ok() ? 0 : 7;
  };
  CHECK(in_child(work) == 0);
}

TEST_CASE("open: a second watcher on the same folder is refused, a reader is not") {
  TemporaryFolder folder;
  auto first = open_store(folder.path());
  REQUIRE(first.ok());
  const auto second = open_store(folder.path());
  REQUIRE_FALSE(second.ok());
  CHECK(second.error().code == Errc::busy);
  CHECK(second.error().text.find("Another ebbwatchd") != std::string::npos);
  StoreOptions beside;
  beside.sole_watcher = false;
  CHECK(open_store(folder.path(), beside).ok());
  first.value().reset();
  CHECK(open_store(folder.path()).ok());
}

TEST_CASE("migrations: every earlier version is brought up to date and keeps its rows") {
  for (int version = 0; version <= schema_version_newest; ++version) {
    CAPTURE(version);
    TemporaryFolder folder;
    const std::string path = database_path(folder.path());
    run_raw(path, "");
    write_bytes(path, "");
    {
      auto old = Database::open(path, Span::of_s(1), "");
      REQUIRE(old.ok());
      REQUIRE(migrate(old.value(), version).ok());
      CHECK(old.value().number("PRAGMA user_version").value() == version);
      if (version >= 1)
        REQUIRE(old.value()
                    .run("INSERT INTO keys(controller, key_hash, made_at) VALUES('lagoon-main', "
                         "'aa', 5)")
                    .ok());
      if (version >= 2) REQUIRE(old.value().run("INSERT INTO facts VALUES('next_outage', 9)").ok());
      if (version >= 2)
        REQUIRE(old.value()
                    .run("INSERT INTO controllers(controller, contact, contact_since, interval, "
                         "power, power_at, outage) VALUES('reef-main', 'present', 1, 2, '', 3, 0)")
                    .ok());
      if (version >= 3) REQUIRE(old.value().run("INSERT INTO names VALUES(4, 'lagoon-main')").ok());
    }
    const auto store = open_store(folder.path());
    REQUIRE_MESSAGE(store.ok(), store.error().text);
    CHECK(store.value()->load().value().next_outage == (version >= 2 ? 9 : 1));
    CHECK(store.value()->load().value().controllers.size() == (version >= 2 ? 1 : 0));
    CHECK(store.value()->commit(full_batch(1)).ok());
    const auto keys = open_key_store(folder.path());
    CHECK(keys.value()->keys().value().size() == (version >= 1 ? 1 : 0));
    auto database = open_database(folder.path());
    CHECK(database.value().number("PRAGMA user_version").value() == schema_version_newest);
    CHECK(database.value().number("PRAGMA application_id").value() == schema_application_id);
    CHECK(database.value().word("PRAGMA integrity_check").value() == "ok");
  }
}

TEST_CASE("open: eight processes at once make one database between them") {
  for (int round = 0; round < 20; ++round) {
    TemporaryFolder folder;
    std::vector<::pid_t> children;
    for (int i = 0; i < 8; ++i)
      children.push_back(start_child([&folder, i] {
        const auto keys = open_key_store(folder.path());
        if (!keys.ok()) return keys.error().code == Errc::busy ? 2 : 3;
        return keys.value()->set_key({"c-" + std::to_string(i), "aa", at(1)}).ok() ? 0 : 4;
      }));
    for (const auto child : children) CHECK(wait_for(child) == 0);
    CHECK(open_key_store(folder.path()).value()->keys().value().size() == 8);
  }
}

TEST_CASE("key store: keys made in other processes reach a running watcher that goes on storing") {
  TemporaryFolder folder;
  const auto store = open_store(folder.path());
  REQUIRE(store.ok());
  const auto seen = open_key_store(folder.path());
  REQUIRE(seen.ok());
  std::vector<::pid_t> children;
  for (int i = 0; i < 4; ++i)
    children.push_back(start_child([&folder, i] {
      for (int n = 0; n < 25; ++n) {
        const auto keys = open_key_store(folder.path());
        const std::string name = "c-" + std::to_string(i) + "-" + std::to_string(n);
        if (!keys.ok() || !keys.value()->set_key({name, "aa", at(n)}).ok()) return 1;
      }
      return 0;
    }));
  for (std::uint64_t number = 1; number <= 60; ++number)
    CHECK(store.value()->commit(full_batch(number)).ok());
  for (const auto child : children) CHECK(wait_for(child) == 0);
  CHECK(seen.value()->keys().value().size() == 100);
  CHECK(store.value()->decisions({}).value().size() == 120);
}

TEST_CASE("wall addresses: one of each name, and the other connection sees what was changed") {
  TemporaryFolder folder;
  const auto daemon = open_wall_addresses(folder.path());
  const auto command = open_wall_addresses(folder.path());
  REQUIRE(daemon.ok());
  REQUIRE(command.ok());
  CHECK(command.value()->put({"kitchen", "aa", at(1)}).value() == false);
  CHECK(command.value()->put({"bench", "bb", at(2)}).value() == false);
  CHECK(command.value()->put({"kitchen", "cc", at(3)}).value() == true);
  const auto rows = daemon.value()->addresses().value();
  REQUIRE(rows.size() == 2);
  CHECK(rows[1].name == "kitchen");
  CHECK(rows[1].key_hash == "cc");
  CHECK(rows[1].made_at == at(3));
  CHECK(command.value()->remove("kitchen").value() == true);
  CHECK(command.value()->remove("kitchen").value() == false);
  CHECK(daemon.value()->addresses().value().size() == 1);
}

}  // namespace
}  // namespace ebbwatch::test
