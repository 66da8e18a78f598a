// `ebbwatch-make-history`: fills a new state folder with an invented year, row by row through the
// store's own code, to measure what long histories cost.
#include <CLI/CLI.hpp>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>

#include "core/wording.h"
#include "settings/load.h"
#include "settings/plan.h"
#include "store/open_database.h"
#include "store/sqlite_store.h"
#include "text/rfc3339.h"
#include "world.h"

namespace ebbwatch::history {
namespace {

constexpr std::size_t rows_in_a_batch = 2000;
constexpr Span told_after = Span::of_min(6);  ///< From the last check-in to the confirmed loss.

struct Wishes {
  Options options;
  std::string folder, until;
  std::int64_t keep_days = 0;
};

int fail(const std::string& text) {
  std::fprintf(stderr, "ebbwatch-make-history: %s\n", text.c_str());
  return 1;
}

/// Writes the year; every failure of the store ends it.
class Writer {
 public:
  Writer(Store& store, const WatchPlan& plan) : store_(store), plan_(plan) {}

  /// What was decided about the losses that ended before `now`.
  void decide(const World& world, WallTime now) {
    const auto& losses = world.losses();
    for (; next_ < losses.size() && losses[next_].until < now; ++next_) add(losses[next_]);
  }
  Batch& batch() { return batch_; }
  Result<void> commit() {
    rows_ += batch_.check_ins.size();
    auto done = store_.commit(batch_);
    batch_ = {};
    return done;
  }
  std::uint64_t rows() const { return rows_; }
  OutageId outages() const { return outage_; }

 private:
  void add(const Loss& loss) {
    const Cause cause = loss.mains ? Cause::mains_power : Cause::internet;
    ++outage_;
    batch_.outages.push_back({outage_, "tank", World::tank_id(loss.tank), loss.from,
                              loss.from + told_after, word(cause), 0.7, "normal", true, true});
    batch_.next_outage = outage_ + 1;
    decision(loss, DecisionKind::loss, loss.from, loss.from + told_after, cause);
    decision(loss, DecisionKind::recovery, loss.until, loss.until + Span::of_min(3), cause);
    notice("loss", loss.from + told_after);
    notice("recovery", loss.until + Span::of_min(3));
    CallRow call;
    call.outage = outage_;
    call.call_list = "everyday";
    call.started_at = loss.from + told_after;
    call.acknowledged = call.closed = true;
    call.acknowledged_by = "robin";
    call.acknowledged_at = call.started_at + Span::of_min(4);
    batch_.calls.push_back(call);
  }

  void decision(const Loss& loss, DecisionKind kind, WallTime since, WallTime at, Cause cause) {
    Decision decision;
    decision.kind = kind;
    decision.subject = {Scope::tank, loss.tank};
    decision.outage = outage_;
    decision.cause = cause;
    decision.confidence = 0.7;
    Evidence evidence;
    evidence.subject = {Scope::controller, loss.tank};
    decision.evidence.push(evidence);
    const std::string last = to_rfc3339(loss.from);
    char seconds[40];
    std::snprintf(seconds, sizeof seconds, "%.3f", static_cast<double>(since.us) / 1e6);
    DecisionRow row;
    row.at = at;
    row.kind = word(kind);
    row.scope = "tank";
    row.subject = World::tank_id(loss.tank);
    row.outage = outage_;
    row.json = decision_json(decision, plan_, [&last](Instant) { return last; },
                             {"at", "\"" + to_rfc3339(at) + "\"", seconds});
    batch_.decisions.push_back(std::move(row));
  }

  void notice(const char* kind, WallTime at) {
    NoticeRow row;
    row.notice = outage_text(plan_, outage_) + "/" + kind;
    row.outage = outage_;
    row.kind = kind;
    row.keyholder = "robin";
    row.notifier = "note";
    row.state = "delivered";
    row.attempts = 1;
    row.created_at = row.next_attempt_at = at;
    row.ended_at = at + Span::of_s(2);
    row.message_json = "{}";
    batch_.attempts.push_back({row.notice, 1, at + Span::of_s(2), "delivered", "ok"});
    batch_.notices.push_back(std::move(row));
  }

  Store& store_;
  const WatchPlan& plan_;
  Batch batch_;
  std::size_t next_ = 0;
  OutageId outage_ = 0;
  std::uint64_t rows_ = 0;
};

/// The last state of each controller, so that a daemon goes on as after a short stop.
void add_controllers(Batch& batch, const Options& options, WallTime end) {
  for (std::uint32_t tank = 0; tank < options.controllers; ++tank) {
    ControllerRow row;
    row.controller = World::controller_id(tank);
    row.contact = "present";
    row.last_heard = end - options.interval;
    row.contact_since = end - Span::of_days(1);
    row.interval = options.interval;
    row.power = "mains";
    row.power_at = end - options.interval;
    row.figure_at = end;
    batch.controllers.push_back(row);
  }
  batch.watcher_rows.push_back({end, "stop", "", true});
}

Result<void> write_year(Writer& writer, World& world, const Options& options, WallTime from) {
  writer.batch().watcher_rows.push_back({from, "start", "", true});
  for (std::int64_t turn = 0; turn < world.turns(); ++turn) {
    world.check_ins(turn, writer.batch().check_ins);
    writer.decide(world, from + options.interval * turn);
    if (writer.batch().check_ins.size() < rows_in_a_batch) continue;
    if (auto done = writer.commit(); !done) return done;
  }
  add_controllers(writer.batch(), options, from + options.interval * world.turns());
  return writer.commit();
}

int run(const Wishes& wishes) {
  const auto begun = std::chrono::steady_clock::now();
  const auto until = from_rfc3339(wishes.until);
  if (!until) return fail("--until: write a time as 2026-11-26T00:00:00Z.");
  const WallTime from = *until - Span::of_days(wishes.options.days);
  const std::string state = wishes.folder + "/state";
  if (std::filesystem::exists(database_path(state)))
    return fail(database_path(state) + " is there already. Name a new folder.");
  World world(wishes.options, from);
  std::filesystem::create_directories(wishes.folder);
  const std::string configuration = wishes.folder + "/ebbwatch.yaml";
  std::ofstream(configuration) << world.settings_yaml(std::filesystem::absolute(state).string());
  const auto loaded = load_settings(configuration);
  for (const auto& problem : loaded.problems) return fail(text(problem));
  const WatchPlan plan = make_plan(loaded.settings);
  const auto store = open_store(state);
  if (!store) return fail(store.error().text);
  Writer writer(*store.value(), plan);
  const auto written = write_year(writer, world, wishes.options, from);
  if (!written) return fail(written.error().text);
  while (wishes.keep_days > 0) {
    const auto more = store.value()->condense({*until - Span::of_days(wishes.keep_days), {}}, 1000);
    if (!more) return fail(more.error().text);
    if (!more.value()) break;
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
  std::printf("%llu check-ins, %llu outages in %.0f s\n",
              static_cast<unsigned long long>(writer.rows()),
              static_cast<unsigned long long>(writer.outages()), took.count());
  return 0;
}

}  // namespace
}  // namespace ebbwatch::history

int main(int argc, char** argv) {
  ebbwatch::history::Wishes wishes;
  std::int64_t interval_s = 60;
  CLI::App app("Fills a new folder with an invented history, through the store's own code.");
  app.footer("Example: ebbwatch-make-history /var/tmp/year --until 2026-11-26T00:00:00Z");
  app.add_option("folder", wishes.folder, "A new folder: ebbwatch.yaml and state/ come into it")
      ->required();
  app.add_option("--until", wishes.until, "The end of the history (RFC 3339)")->required();
  app.add_option("--controllers", wishes.options.controllers)
      ->check(CLI::Range(1, 10'000))
      ->capture_default_str();
  app.add_option("--days", wishes.options.days)->check(CLI::Range(1, 3660))->capture_default_str();
  app.add_option("--interval", interval_s, "Seconds between check-ins")
      ->check(CLI::Range(1, 3600))
      ->capture_default_str();
  app.add_option("--keep", wishes.keep_days, "Condense what is older than so many days; 0: nothing")
      ->check(CLI::Range(0, 3660))
      ->capture_default_str();
  app.add_flag("!--no-readings", wishes.options.readings, "Check-ins without readings");
  app.add_option("--seed", wishes.options.seed)->capture_default_str();
  CLI11_PARSE(app, argc, argv);
  wishes.options.interval = ebbwatch::Span::of_s(interval_s);
  return ebbwatch::history::run(wishes);
}
