// Everything between a check-in and a person, with one operation after the other failing: the
// store's and the notifiers', once or until they are healed. Deciding goes on, people are told, and
// what was decided is stored in the end.
#include <doctest/doctest.h>

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <map>
#include <set>

#include "app/engine.h"
#include "reporting/log.h"
#include "support/fault_plan.h"
#include "support/memory_store.h"

using namespace ebbwatch;

namespace {

class TestClock final : public Clock {
 public:
  Instant now() const override { return Instant{now_us}; }
  WallTime wall_now() const override { return WallTime{start_us + now_us}; }
  std::int64_t now_us = 0;

 private:
  static constexpr std::int64_t start_us = 1'771'768'800'000'000;
};

class TestEntropy final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override {
    for (auto& byte : bytes) {
      state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
      byte = static_cast<std::uint8_t>(state_ >> 56);
    }
  }

 private:
  std::uint64_t state_ = 7;
};

/// What reached people, by which way; all ways share one plan of faults.
struct Carriers {
  test::FaultPlan faults;
  Outcome::Kind fault = Outcome::Kind::retry_later;
  std::vector<std::string> arrived;  ///< "text>robin ebbwatch.loss"
  std::map<std::string, int> copies;
};

class FaultyNotifier final : public Notifier {
 public:
  FaultyNotifier(std::string id, Carriers& carriers) : id_(std::move(id)), carriers_(carriers) {}

  boost::asio::awaitable<Outcome> deliver(Message message) override {
    const bool struck = carriers_.faults.strikes();
    if (struck && carriers_.fault != Outcome::Kind::unknown) {
      co_return Outcome{carriers_.fault, "trouble", std::nullopt};
    }
    carriers_.arrived.push_back(id_ + ">" + message.keyholder + " " + message.event_type);
    ++carriers_.copies[id_ + message.notice];
    co_return Outcome{struck ? Outcome::Kind::unknown : Outcome::Kind::delivered, "", std::nullopt};
  }

 private:
  std::string id_;
  Carriers& carriers_;
};

SiteSettings site_of(const std::string& id) {
  ControllerSettings controller;
  controller.id = id + "-main";
  controller.interval = Span::of_s(10);
  TankSettings tank;
  tank.id = id + "-tank";
  tank.name = id;
  tank.controllers = {controller};
  SiteSettings site;
  site.id = id;
  site.name = id;
  site.call_list = "everyday";
  site.tanks = {tank};
  return site;
}

Settings two_sites() {
  Settings settings;
  settings.watcher.name = "pier";
  settings.sites = {site_of("calm"), site_of("wave")};
  settings.detection.on_delay = Span::of_s(30);
  settings.detection.off_delay = Span::of_s(30);
  settings.detection.min_missed = 2;
  for (const char* id : {"text", "mail"}) {
    NotifierSettings notifier;
    notifier.id = id;
    notifier.check_every = Span();
    settings.notifiers.push_back(notifier);
  }
  settings.keyholders = {{"robin", "Robin", "", "", {"en"}}, {"sam", "Sam", "", "", {"en"}}};
  CallListSettings list;
  list.id = "everyday";
  list.steps = {{Span(), {"robin", "sam"}, {"text", "mail"}}};
  settings.call_lists = {list};
  return settings;
}

/// The engine with everything real but time, the store and the carriers.
class World {
 public:
  explicit World(std::shared_ptr<test::MemoryRows> rows) : rows_(std::move(rows)) {
    capture_log([this](Level level, std::string_view event, const std::string&) {
      if (level == Level::error) errors.insert(std::string(event));
    });
    auto made = std::make_unique<test::MemoryStore>(rows_);
    store = made.get();
    stored_ = store->load().value();
    thread_ = std::make_unique<StoreThread>(std::move(made), io_.get_executor());
    committer_ = std::make_unique<Committer>(io_.get_executor(), *thread_,
                                             [this](const StoreHealth& health) {
                                               troubles += health.failing ? 1 : 0;
                                               if (engine_)
                                                 engine_->dispatcher().store_changed(health);
                                             });
    Notifiers notifiers;
    for (const char* id : {"text", "mail"}) {
      notifiers[id] = std::make_shared<FaultyNotifier>(id, carriers);
    }
    engine_ = std::make_unique<Engine>(
        Engine::Parts{io_.get_executor(), tasks_, clock_, entropy_, *committer_, [] {}, [] {}},
        two_sites(), std::move(notifiers));
  }
  ~World() {
    thread_.reset();
    capture_log({});
  }

  void start() {
    engine_->start(stored_);
    rest();
  }
  /// Seconds in which calm checks in, and wave when it is not silent, every ten.
  void pass(int seconds, bool wave_too) {
    for (int second = 0; second < seconds; second += 10) {
      clock_.now_us += 10'000'000;
      ++seq_;
      check_in("calm-main");
      if (wave_too) check_in("wave-main");
      engine_->dispatcher().tick();
      rest();
    }
  }
  const Watch& watch() const { return engine_->watch(); }
  bool store_failing() const { return committer_->health().failing; }

  test::MemoryStore* store = nullptr;  ///< Touched only at rest.
  Carriers carriers;
  int troubles = 0;
  std::set<std::string> errors;  ///< Names of lines in the log at that level.

 private:
  void check_in(const std::string& controller) {
    Credential credential;
    credential.controller = controller;
    ParsedCheckIn parsed;
    parsed.seq = seq_;
    (void)engine_->accept(credential, parsed, "192.0.2.7", clock_.now());
  }
  // Until nothing is being stored or sent.
  void rest() {
    bool flushed = false;
    committer_->now({}, [&flushed](bool) { flushed = true; });
    while (!flushed || !committer_->idle() || engine_->dispatcher().in_flight() > 0) {
      io_.restart();
      io_.run_one_for(std::chrono::milliseconds(20));
    }
  }

  std::shared_ptr<test::MemoryRows> rows_;
  boost::asio::io_context io_;
  TestClock clock_;
  TestEntropy entropy_;
  Tasks tasks_{io_.get_executor(), [](const std::string& name, const std::string& what, bool) {
                 FAIL(name << " ended: " << what);
               }};
  std::uint64_t seq_ = 0;
  StoredState stored_;
  std::unique_ptr<StoreThread> thread_;
  std::unique_ptr<Committer> committer_;
  std::unique_ptr<Engine> engine_;
};

std::vector<std::string> kinds_of(const test::MemoryRows& rows) {
  std::vector<std::string> kinds;
  for (const auto& row : rows.decisions) kinds.push_back(row.kind + " " + row.subject);
  return kinds;
}

std::size_t heard(const World& world, const std::string& who, const std::string& what) {
  std::size_t count = 0;
  for (const auto& one : world.carriers.arrived) {
    if (one.find(">" + who + " ebbwatch." + what) != std::string::npos) ++count;
  }
  return count;
}

void check_told(const World& world) {
  for (const char* who : {"robin", "sam"}) {
    CAPTURE(who);
    CHECK(heard(world, who, "loss") >= 1);
    CHECK(heard(world, who, "recovery") >= 1);
  }
}

void check_stored(const test::MemoryRows& rows) {
  CHECK(kinds_of(rows) == std::vector<std::string>{"loss wave", "recovery wave"});
  for (const auto& [id, row] : rows.notices) {
    INFO(row.notifier << " " << row.keyholder << " " << row.kind);
    CHECK(row.state != "waiting");
  }
}

/// A loss and its end. @param in_trouble called before, `healed` after the loss was to be told.
template <class Break, class Heal>
std::uint64_t story(const Break& in_trouble, const Heal& healed) {
  auto rows = std::make_shared<test::MemoryRows>();
  World world(rows);
  world.start();
  world.pass(60, true);
  in_trouble(world);
  world.pass(120, false);
  CHECK(world.watch().contact(SiteIndex{1}) == GroupContact::lost);
  CHECK(world.watch().contact(SiteIndex{0}) == GroupContact::in_contact);
  const std::uint64_t struck = healed(world);
  world.pass(900, true);
  CHECK(world.watch().contact(SiteIndex{1}) == GroupContact::in_contact);
  CHECK_FALSE(world.store_failing());
  check_told(world);
  check_stored(*rows);
  // The daemon says that the store fails; here that is only counted.
  CHECK(world.errors.empty());
  return struck;
}

}  // namespace

TEST_CASE(
    "engine: whichever store operation fails, once or for good, people are told and nothing is "
    "lost") {
  for (const Errc code : {Errc::storage, Errc::busy}) {
    for (const bool sticky : {false, true}) {
      std::uint64_t struck = 1;
      std::uint64_t n = 0;
      for (n = 1; struck > 0 && n < 200; ++n) {
        CAPTURE(n);
        CAPTURE(sticky);
        struck = story(
            [&](World& world) {
              world.store->fault = {code, "The disk is full."};
              world.store->faults.fail_at(n, sticky);
            },
            [&](World& world) {
              // Told in time, with the store as it is.
              CHECK(heard(world, "robin", "loss") == 1);
              CHECK(heard(world, "sam", "loss") == 1);
              const auto failed = world.store->faults.failed();
              if (failed > 0) CHECK(world.troubles > 0);
              world.store->faults.heal();
              return failed;
            });
      }
      CHECK(n > 10);  // It really went through the operations.
    }
  }
}

TEST_CASE(
    "engine: whichever attempt fails, in any way, once or for good, everybody is told in the end") {
  using Kind = Outcome::Kind;
  for (const Kind kind : {Kind::retry_later, Kind::unknown, Kind::rejected_forever}) {
    for (const bool sticky : {false, true}) {
      // Refused for good by every way is a dead letter, which other tests look at.
      if (sticky && kind == Kind::rejected_forever) continue;
      std::uint64_t struck = 1;
      std::uint64_t n = 0;
      for (n = 1; struck > 0 && n < 100; ++n) {
        CAPTURE(n);
        CAPTURE(sticky);
        struck = story(
            [&](World& world) {
              world.carriers.fault = kind;
              world.carriers.faults.fail_at(n, sticky);
            },
            [&](World& world) {
              const auto failed = world.carriers.faults.failed();
              world.carriers.faults.heal();
              return failed;
            });
      }
      CHECK(n > 2);
    }
  }
}
