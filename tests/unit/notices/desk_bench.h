// A bench for the desk: virtual time, a store in memory, and the attempts that are under way. State
// is shown as text, so that a failure reads like a difference.
#pragma once

#include <map>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "notices/notice_desk.h"
#include "notices/sample.h"

namespace ebbwatch::sample {

/// Rows as a store keeps them: replaced by their key; load() gives what a restart sees.
class MemoryRows {
 public:
  void commit(const Changes& changes) {
    for (const NoticeRow& row : changes.notices) {
      if (!notices_.contains(row.notice)) order_.push_back(row.notice);
      notices_[row.notice] = row;
    }
    for (const AttemptRow& row : changes.attempts) attempts_.push_back(row);
    for (const CallRow& row : changes.calls) calls_[row.outage] = row;
  }
  StoredState load() const {
    StoredState state;
    state.drills = drills;
    for (const auto& [id, row] : calls_) {
      if (row.closed) continue;
      state.calls.push_back(row);
      state.outages.push_back(outage_row(id));
    }
    for (const std::string& id : order_) {
      const NoticeRow& row = notices_.at(id);
      const auto call = calls_.find(row.outage);
      bool open = call != calls_.end() && !call->second.closed;
      for (const DrillRow& drill : drills)
        open = open || (drill.outage == row.outage && !drill.closed);
      if (open || row.state == "waiting") state.notices.push_back(row);
    }
    return state;
  }
  bool has(const std::string& notice) const { return notices_.contains(notice); }
  const NoticeRow& notice(const std::string& id) const { return notices_.at(id); }
  std::vector<NoticeRow> notices() const {
    std::vector<NoticeRow> rows;
    for (const std::string& id : order_) rows.push_back(notices_.at(id));
    return rows;
  }
  const std::vector<AttemptRow>& attempts() const { return attempts_; }
  const CallRow& call(OutageId id) const { return calls_.at(id); }
  bool has_call(OutageId id) const { return calls_.contains(id); }

  std::vector<DrillRow> drills;  ///< Put here by tests; the desk makes no such rows.

 private:
  static OutageRow outage_row(OutageId id) {
    OutageRow row;
    row.id = id;
    row.scope = "tank";
    row.subject = "lagoon";
    row.since = two_o_clock;
    row.confirmed_at = two_o_clock;
    row.cause = "undetermined";
    return row;
  }

  std::map<std::string, NoticeRow> notices_;
  std::vector<std::string> order_;
  std::vector<AttemptRow> attempts_;
  std::map<OutageId, CallRow> calls_;
};

class DeskBench {
 public:
  explicit DeskBench(Settings given = sample::settings())
      : settings(std::move(given)), plan(make_plan(settings)) {
    desk = std::make_unique<NoticeDesk>(settings, plan);
  }

  void decide(DecisionKind kind, Subject subject = tank(0), OutageId outage = 1,
              Cause cause = Cause::undetermined, double confidence = 0) {
    Decision made = decision(kind, subject, outage);
    made.cause = cause;
    made.confidence = confidence;
    store(desk->on_decision(made, context(now), entropy));
  }
  void acknowledge(OutageId outage = 1, const std::string& by = "robin") {
    store(desk->on_acknowledge(outage, {by, AnswerWay::command_line}, now, entropy));
  }
  void pass(Span span) {
    const WallTime until = now + span;
    for (auto next = desk->next_deadline(); next && *next <= until && *next > now;
         next = desk->next_deadline()) {
      now = *next;
      store(desk->on_tick(now, entropy));
    }
    now = until;
    store(desk->on_tick(now, entropy));
  }
  /// "text>robin loss; mail>robin loss", the attempts that start now, in order.
  std::string send() {
    std::string line;
    for (Send& attempt : desk->take_due(now)) {
      line += (line.empty() ? "" : "; ") + label(attempt);
      flying.push_back(std::move(attempt));
    }
    return line;
  }
  /// Answers the attempt under way with this label.
  void answer(const std::string& what, Outcome::Kind kind, std::optional<Span> retry_after = {}) {
    for (std::size_t i = 0; i < flying.size(); ++i) {
      if (label(flying[i]) != what) continue;
      const std::string id = flying[i].message.notice;
      flying.erase(flying.begin() + static_cast<std::ptrdiff_t>(i));
      store(desk->on_outcome(id, {kind, "answer", retry_after}, now, entropy));
      return;
    }
    throw std::runtime_error("no attempt under way: " + what);
  }
  void delivered(const std::string& what) { answer(what, Outcome::Kind::delivered); }
  void fails(const std::string& what) { answer(what, Outcome::Kind::retry_later); }
  void refuses(const std::string& what) { answer(what, Outcome::Kind::rejected_forever); }
  void loses_answer(const std::string& what) { answer(what, Outcome::Kind::unknown); }

  /// Killed and started again: attempts under way and everything in memory are gone.
  void restart() {
    flying.clear();
    desk = std::make_unique<NoticeDesk>(settings, plan);
    store(desk->restore(rows.load(), now, entropy));
  }
  /// "text>robin loss delivered 1; …" of all rows, in order of creation.
  std::string stored() const {
    std::string line;
    for (const NoticeRow& row : rows.notices()) {
      line += (line.empty() ? "" : "; ") + row.notifier + ">" + row.keyholder + " " + row.kind +
              " " + row.state + " " + std::to_string(row.attempts);
    }
    return line;
  }

  static std::string label(const Send& attempt) {
    return attempt.notifier + ">" + attempt.message.keyholder + " " +
           attempt.message.event_type.substr(std::string("ebbwatch.").size());
  }
  void store(const Changes& changes) {
    rows.commit(changes);
    for (const std::string& remark : changes.remarks) remarks.push_back(remark);
    desk->committed(changes.ticket);
  }

  Settings settings;
  WatchPlan plan;
  CountingEntropy entropy;
  std::unique_ptr<NoticeDesk> desk;
  MemoryRows rows;
  WallTime now = two_o_clock;
  std::vector<Send> flying;
  std::vector<std::string> remarks;
};

}  // namespace ebbwatch::sample
