// A watcher that is killed at a random moment, again and again: everything that it was told is
// stored is there, and every batch is there whole or not at all.
#include <doctest/doctest.h>
#include <poll.h>

#include <csignal>
#include <map>
#include <random>
#include <set>

#include "rows.h"
#include "store/sqlite_store.h"
#include "support/child.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {
namespace {

/// Commits batches from number `from` on and writes each number to the pipe after its commit().
int commit_for_ever(const std::string& folder, std::uint64_t from, int acknowledgements) {
  const auto store = open_store(folder);
  if (!store.ok()) return 1;
  for (std::uint64_t number = from;; ++number) {
    if (!store.value()->commit(full_batch(number)).ok()) return 2;
    if (::write(acknowledgements, &number, sizeof number) != sizeof number) return 3;
  }
}

/// Reads the numbers until the pipe is quiet for the given time, at most `enough` of them.
std::uint64_t read_numbers(int pipe, int enough, int quiet_ms) {
  std::uint64_t last = 0;
  for (int count = 0; count < enough; ++count) {
    pollfd ready{pipe, POLLIN, 0};
    if (::poll(&ready, 1, quiet_ms) <= 0) break;
    std::uint64_t number = 0;
    if (::read(pipe, &number, sizeof number) != sizeof number) break;
    last = number;
  }
  return last;
}

/// Checks that exactly the batches 1 … n are there, each whole. @return n.
std::uint64_t whole_batches(Store& store) {
  std::map<std::uint64_t, int> decisions;
  const auto decision_rows = store.decisions({});
  REQUIRE(decision_rows.ok());
  for (const auto& row : decision_rows.value()) ++decisions[row.outage];
  std::map<std::int64_t, int> check_ins;
  const auto check_in_rows = store.check_ins({});
  REQUIRE(check_in_rows.ok());
  for (const auto& row : check_in_rows.value()) ++check_ins[(row.at - at(0)).us / 1'000'000];
  const std::uint64_t last = decisions.empty() ? 0 : decisions.rbegin()->first;
  CHECK(decisions.size() == last);
  CHECK(check_ins.size() == last);
  CHECK(store.watcher_rows({}).value().size() == last);
  CHECK(store.load().value().next_outage == last + 1);
  for (std::uint64_t number = 1; number <= last; ++number) {
    CHECK(decisions[number] == 2);
    CHECK(check_ins[static_cast<std::int64_t>(number)] == 2);
    CHECK(store.notices_of(number).value().size() == 2);
    CHECK(store.attempts_of("notice-" + std::to_string(number) + "-a").value().size() == 1);
  }
  return last;
}

TEST_CASE(
    "store: killed at 50 random moments, what was acknowledged is there and batches are whole") {
  TemporaryFolder folder;
  std::mt19937 random(20231114);  // The same moments in every run, as far as the machine allows.
  std::set<std::uint64_t> stopped_after;
  std::uint64_t stored = 0;
  for (int round = 0; round < 50; ++round) {
    CAPTURE(round);
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    const auto child =
        start_child([&] { return commit_for_ever(folder.path(), stored + 1, ends[1]); });
    REQUIRE(child > 0);
    ::close(ends[1]);
    const int enough = static_cast<int>(random() % 6);
    std::uint64_t acknowledged = read_numbers(ends[0], enough, 10'000);
    // Then let it run on for up to two milliseconds: somewhere within a commit.
    const timespec moment{0, static_cast<long>(random() % 2'000'000)};
    (void)::ppoll(nullptr, 0, &moment, nullptr);
    REQUIRE(::kill(child, SIGKILL) == 0);
    CHECK(wait_for(child) == -1);
    const std::uint64_t late = read_numbers(ends[0], 1000, 0);
    acknowledged = std::max(acknowledged, late);
    ::close(ends[0]);
    auto store = open_store(folder.path());
    REQUIRE_MESSAGE(store.ok(), store.error().text);
    const std::uint64_t found = whole_batches(*store.value());
    CHECK(found >= std::max(acknowledged, stored));
    stopped_after.insert(found);
    stored = found;
  }
  CHECK(stored >= 50);
  CHECK(stopped_after.size() > 10);
}

}  // namespace
}  // namespace ebbwatch::test
