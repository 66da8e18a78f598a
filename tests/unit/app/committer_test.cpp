#include "app/committer.h"

#include <doctest/doctest.h>

#include <boost/asio/io_context.hpp>
#include <vector>

#include "support/memory_store.h"

using namespace ebbwatch;

namespace {

struct Fixture {
  std::shared_ptr<test::MemoryRows> rows = std::make_shared<test::MemoryRows>();
  boost::asio::io_context io;
  test::MemoryStore* store = nullptr;  ///< Owned by the thread; touched only while that is idle.
  std::unique_ptr<StoreThread> thread;
  std::vector<bool> changes;  ///< Each change of the store's health: failing or not.
  std::unique_ptr<Committer> committer;

  Fixture() {
    auto made = std::make_unique<test::MemoryStore>(rows);
    store = made.get();
    thread = std::make_unique<StoreThread>(std::move(made), io.get_executor());
    committer = std::make_unique<Committer>(
        io.get_executor(), *thread,
        [this](const StoreHealth& health) { changes.push_back(health.failing); });
  }
  ~Fixture() { thread.reset(); }

  /// Runs the loop until `wanted` answers have come.
  void run_until(std::size_t wanted) {
    while (answers.size() < wanted) {
      io.restart();
      io.run_one_for(std::chrono::milliseconds(50));
    }
  }
  void commit(Batch batch) {
    committer->now(std::move(batch), [this](bool stored) { answers.push_back(stored); });
  }
  std::vector<bool> answers;
};

Batch notice(const std::string& id, const std::string& state) {
  NoticeRow row;
  row.notice = id;
  row.notifier = "mail";
  row.state = state;
  Batch batch;
  batch.notices.push_back(row);
  return batch;
}

Batch check_in(std::int64_t second) {
  Batch batch;
  batch.check_ins.push_back({WallTime{second * 1'000'000}, "lagoon-main", {}, {}, "", false, ""});
  return batch;
}

}  // namespace

TEST_CASE_FIXTURE(Fixture, "committer: what waits goes along with what must be stored now") {
  committer->later(check_in(1));
  committer->later(check_in(2));
  CHECK(rows->check_ins.empty());
  commit(notice("n1", "waiting"));
  run_until(1);
  CHECK(answers == std::vector<bool>{true});
  CHECK(rows->check_ins.size() == 2);
  CHECK(rows->notices.at("n1").state == "waiting");
}

TEST_CASE_FIXTURE(Fixture, "committer: what is filled in is as new as the commit") {
  committer->set_fill([](Batch& batch) { append(batch, notice("filled", "waiting")); });
  commit(check_in(1));
  run_until(1);
  CHECK(rows->notices.count("filled") == 1);
}

TEST_CASE_FIXTURE(Fixture,
                  "committer: a failed commit is kept, told, and stored with the next one") {
  store->faults.fail_at(1, false);
  commit(notice("n1", "waiting"));
  run_until(1);
  CHECK(answers == std::vector<bool>{false});
  CHECK(committer->health().failing);
  CHECK(committer->health().reason == "The disk is full.");
  CHECK(rows->notices.empty());

  commit(notice("n2", "waiting"));
  run_until(2);
  CHECK(answers == std::vector<bool>{false, true});
  CHECK(changes == std::vector<bool>{true, false});
  CHECK(rows->notices.size() == 2);
}

TEST_CASE_FIXTURE(Fixture, "committer: a row that is put back never overtakes a newer one") {
  // At each place where one of three commits fails, the newest state must be the one that is kept.
  for (std::uint64_t failing = 1; failing <= 4; ++failing) {
    CAPTURE(failing);
    rows->notices.clear();
    answers.clear();
    store->faults.fail_at(failing, false);
    commit(notice("n1", "waiting"));
    commit(notice("n1", "delivered"));
    run_until(2);
    commit(check_in(1));
    commit(check_in(2));
    run_until(4);
    CHECK(rows->notices.at("n1").state == "delivered");
  }
}

TEST_CASE_FIXTURE(Fixture,
                  "committer: while the store fails old check-ins are let go, notices never") {
  store->faults.fail_at(1, true);
  commit(notice("n1", "waiting"));
  for (std::size_t i = 0; i < Committer::unsaved_check_ins_max + 10; ++i) {
    committer->later(check_in(static_cast<std::int64_t>(i)));
  }
  commit(Batch{});
  run_until(2);
  store->faults.heal();
  commit(Batch{});
  run_until(3);
  CHECK(answers == std::vector<bool>{false, false, true});
  CHECK(rows->check_ins.size() == Committer::unsaved_check_ins_max);
  CHECK(rows->check_ins.front().at == WallTime{10 * 1'000'000});
  CHECK(rows->notices.count("n1") == 1);
}

TEST_CASE_FIXTURE(Fixture, "committer: a row of history that is refused holds no notice back") {
  Batch batch = check_in(1);
  batch.check_ins.front().power = "steam";
  committer->later(std::move(batch));
  commit(notice("n1", "waiting"));
  run_until(1);
  CHECK(answers == std::vector<bool>{false});
  commit(check_in(2));
  run_until(2);
  CHECK(answers == std::vector<bool>{false, true});
  CHECK(rows->notices.count("n1") == 1);
  CHECK(rows->check_ins.size() == 1);
}
