// A Store and KeyStore in memory with the contract of ports/store.h, for tests of everything that
// stands above the store. What was committed lives in MemoryRows, which outlives the store as a
// file would: give the same rows to a second MemoryStore to play a restart.
#pragma once

#include <algorithm>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "ports/store.h"
#include "support/fault_plan.h"

namespace ebbwatch::test {

/// The "file".
struct MemoryRows {
  std::vector<CheckInRow> check_ins;
  std::vector<WatcherRow> watcher_rows;
  std::map<std::string, ControllerRow> controllers;
  std::map<std::uint64_t, OutageRow> outages;
  std::vector<DecisionRow> decisions;
  std::map<std::string, NoticeRow> notices;
  std::vector<AttemptRow> attempts;
  std::map<std::uint64_t, CallRow> calls;
  std::map<std::string, ShelfRow> shelves;
  std::map<std::string, LinkRow> links;
  std::map<std::string, ProofRow> proofs;
  std::map<std::uint64_t, DrillRow> drills;
  std::map<std::string, KeyRow> keys;
  std::uint64_t next_outage = 1;
  bool stopped_in_good_order = false;
};

class MemoryStore final : public Store, public KeyStore {
 public:
  explicit MemoryStore(std::shared_ptr<MemoryRows> rows = std::make_shared<MemoryRows>())
      : rows_(std::move(rows)) {}

  /// Every call of a port is one operation.
  FaultPlan faults;
  /// What a failing operation answers.
  Error fault = {Errc::storage, "The disk is full."};
  MemoryRows& rows() { return *rows_; }

  Result<void> commit(const Batch& batch) override {
    if (faults.strikes()) return fault;
    for (const auto& row : batch.check_ins) {
      const bool known = row.power.empty() || row.power == "mains" || row.power == "battery";
      if (!known || !in_range(row.at)) return refused("power or time");
    }
    for (const auto& row : batch.watcher_rows) {
      const bool known = row.kind == "uplink" || row.kind == "start" || row.kind == "stop";
      if (!known || !in_range(row.at)) return refused("kind or time");
    }
    apply(batch);
    return {};
  }

  Result<StoredState> load() override {
    if (faults.strikes()) return fault;
    StoredState state;
    state.next_outage = rows_->next_outage;
    state.stopped_in_good_order = rows_->stopped_in_good_order;
    for (const auto& [id, row] : rows_->controllers) state.controllers.push_back(row);
    for (const auto& [id, row] : rows_->outages) {
      state.next_outage = std::max(state.next_outage, id + 1);
      if (!row.closed) state.outages.push_back(row);
    }
    state.notices = notices_where([this](const NoticeRow& row) {
      const auto outage = rows_->outages.find(row.outage);
      return row.state == "waiting" || (outage != rows_->outages.end() && !outage->second.closed);
    });
    for (const auto& [id, row] : rows_->calls)
      if (!row.closed) state.calls.push_back(row);
    load_people(state);
    state.last_written = newest_time();
    return state;
  }

  Result<std::vector<DecisionRow>> decisions(const HistoryQuery& query) override {
    if (faults.strikes()) return fault;
    auto rows = rows_->decisions;
    std::erase_if(rows, [&](const DecisionRow& row) {
      return query.outage != 0 && row.outage != query.outage;
    });
    return chosen(rows, query, [](const DecisionRow& row) { return row.subject; });
  }

  Result<std::vector<CheckInRow>> check_ins(const HistoryQuery& query) override {
    if (faults.strikes()) return fault;
    return chosen(rows_->check_ins, query, [](const CheckInRow& row) { return row.controller; });
  }

  Result<std::vector<WatcherRow>> watcher_rows(const HistoryQuery& query) override {
    if (faults.strikes()) return fault;
    return chosen(rows_->watcher_rows, query, [](const WatcherRow& row) { return row.subject; });
  }

  Result<void> for_each_heard(const HistoryQuery& query,
                              const std::function<bool(const HeardRow&)>& visit) override {
    if (faults.strikes()) return fault;
    HistoryQuery of_watcher = query;
    of_watcher.subject.clear();
    std::vector<std::pair<WallTime, HeardRow>> merged;
    for (auto& row :
         chosen(rows_->watcher_rows, of_watcher, [](const auto& r) { return r.subject; }))
      merged.emplace_back(row.at, row);
    for (auto& row : chosen(rows_->check_ins, query, [](const auto& r) { return r.controller; }))
      merged.emplace_back(row.at, row);
    std::stable_sort(merged.begin(), merged.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    for (const auto& [at, row] : merged)
      if (!visit(row)) break;
    return {};
  }

  Result<std::vector<NoticeRow>> notices_of(std::uint64_t outage) override {
    if (faults.strikes()) return fault;
    return notices_where([outage](const NoticeRow& row) { return row.outage == outage; });
  }

  Result<std::vector<AttemptRow>> attempts_of(const std::string& notice) override {
    if (faults.strikes()) return fault;
    std::vector<AttemptRow> found;
    for (const auto& row : rows_->attempts)
      if (row.notice == notice) found.push_back(row);
    return found;
  }

  Result<std::vector<DrillRow>> drills(const HistoryQuery& query) override {
    if (faults.strikes()) return fault;
    std::vector<DrillRow> found;
    for (const auto& [id, row] : rows_->drills) {
      if (query.from && row.started_at < *query.from) continue;
      if (query.until && row.started_at >= *query.until) continue;
      if (query.subject.empty() || row.site == query.subject) found.push_back(row);
    }
    if (query.newest != 0 && found.size() > query.newest) {
      found.erase(found.begin(), found.end() - static_cast<std::ptrdiff_t>(query.newest));
    }
    return found;
  }

  Result<std::optional<CallRow>> call_of(std::uint64_t outage) override {
    if (faults.strikes()) return fault;
    const auto found = rows_->calls.find(outage);
    if (found == rows_->calls.end()) return std::optional<CallRow>();
    return std::optional<CallRow>(found->second);
  }

  Result<std::vector<KeyRow>> keys() override {
    if (faults.strikes()) return fault;
    std::vector<KeyRow> found;
    for (const auto& [controller, row] : rows_->keys) found.push_back(row);
    return found;
  }

  Result<bool> set_key(const KeyRow& row) override {
    if (faults.strikes()) return fault;
    return !rows_->keys.insert_or_assign(row.controller, row).second;
  }

 private:
  static bool in_range(WallTime at) {
    constexpr std::int64_t limit = std::int64_t{1} << 53;
    return at.us >= -limit && at.us < limit;
  }

  static Error refused(const std::string& what) {
    return {Errc::bad_input, "A row of history cannot be stored: its " + what + "."};
  }

  void load_people(StoredState& state) const {
    for (const auto& [key, row] : rows_->shelves) state.shelves.push_back(row);
    for (const auto& [key, row] : rows_->links) state.links.push_back(row);
    std::stable_sort(state.links.begin(), state.links.end(),
                     [](const auto& a, const auto& b) { return a.made_at < b.made_at; });
    constexpr std::size_t links_max = 10'000;
    if (state.links.size() > links_max)
      state.links.erase(state.links.begin(), state.links.end() - links_max);
    for (const auto& [key, row] : rows_->proofs) state.proofs.push_back(row);
    std::map<std::string, std::uint64_t> newest_by;
    for (const auto& [id, row] : rows_->drills) newest_by[row.by] = id;
    for (const auto& [id, row] : rows_->drills) {
      state.next_outage = std::max(state.next_outage, id + 1);
      if (!row.closed || id == newest_by[row.by]) state.drills.push_back(row);
    }
  }

  void apply_people(const Batch& batch) {
    for (const auto& row : batch.shelves) {
      const std::string key = row.scope + " " + row.subject + " " + row.kind;
      if (row.ended) {
        rows_->shelves.erase(key);
      } else {
        rows_->shelves[key] = row;
      }
    }
    for (const auto& row : batch.links) rows_->links[row.token_hash] = row;
    for (const auto& row : batch.proofs) {
      ProofRow& kept = rows_->proofs[row.keyholder + " " + row.notifier];
      kept.keyholder = row.keyholder;
      kept.notifier = row.notifier;
      if (row.delivered_at) kept.delivered_at = row.delivered_at;
      if (row.answered_at) kept.answered_at = row.answered_at;
    }
    for (const auto& row : batch.drills) rows_->drills[row.outage] = row;
  }

  void apply(const Batch& batch) {
    apply_people(batch);
    MemoryRows& r = *rows_;
    r.check_ins.insert(r.check_ins.end(), batch.check_ins.begin(), batch.check_ins.end());
    for (const auto& row : batch.watcher_rows) {
      r.watcher_rows.push_back(row);
      if (row.kind != "uplink") r.stopped_in_good_order = row.kind == "stop";
    }
    for (const auto& row : batch.controllers) r.controllers.insert_or_assign(row.controller, row);
    for (const auto& row : batch.outages) r.outages.insert_or_assign(row.id, row);
    for (const auto& row : batch.decisions) {
      r.decisions.push_back(row);
      r.decisions.back().number = static_cast<std::int64_t>(r.decisions.size());
    }
    for (const auto& row : batch.notices) r.notices.insert_or_assign(row.notice, row);
    r.attempts.insert(r.attempts.end(), batch.attempts.begin(), batch.attempts.end());
    for (const auto& row : batch.calls) r.calls.insert_or_assign(row.outage, row);
    if (batch.next_outage) r.next_outage = *batch.next_outage;
  }

  template <class Row, class Subject>
  static std::vector<Row> chosen(const std::vector<Row>& all, const HistoryQuery& query,
                                 const Subject& subject) {
    std::vector<Row> found;
    for (const auto& row : all) {
      const bool in_time =
          (!query.from || row.at >= *query.from) && (!query.until || row.at < *query.until);
      if (in_time && (query.subject.empty() || subject(row) == query.subject)) found.push_back(row);
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const Row& a, const Row& b) { return a.at < b.at; });
    if (query.newest != 0 && found.size() > query.newest)
      found.erase(found.begin(), found.end() - static_cast<std::ptrdiff_t>(query.newest));
    return found;
  }

  template <class Choose>
  std::vector<NoticeRow> notices_where(const Choose& choose) const {
    std::vector<NoticeRow> found;
    for (const auto& [id, row] : rows_->notices)
      if (choose(row)) found.push_back(row);
    std::stable_sort(found.begin(), found.end(), [](const NoticeRow& a, const NoticeRow& b) {
      return a.created_at < b.created_at;
    });
    return found;
  }

  /// The newest moment at which the watcher surely ran; planned moments do not count.
  std::optional<WallTime> newest_time() const {
    std::optional<WallTime> newest;
    const auto see = [&newest](WallTime at) { newest = newest ? std::max(*newest, at) : at; };
    for (const auto& row : rows_->check_ins) see(row.at);
    for (const auto& row : rows_->watcher_rows) see(row.at);
    for (const auto& row : rows_->decisions) see(row.at);
    for (const auto& row : rows_->attempts) see(row.at);
    for (const auto& [id, row] : rows_->controllers) {
      see(row.contact_since);
      see(row.power_at);
      if (row.last_heard) see(*row.last_heard);
    }
    for (const auto& [id, row] : rows_->outages) see(row.confirmed_at);
    for (const auto& [id, row] : rows_->notices) {
      see(row.created_at);
      if (row.ended_at) see(*row.ended_at);
    }
    for (const auto& [id, row] : rows_->calls) see(row.started_at);
    return newest;
  }

  std::shared_ptr<MemoryRows> rows_;
};

}  // namespace ebbwatch::test
