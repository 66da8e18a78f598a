#include "app/committer.h"

#include <iterator>
#include <memory>
#include <utility>

namespace ebbwatch {
namespace {

template <class Row>
void move_rows(std::vector<Row>& to, std::vector<Row>& from) {
  if (to.empty()) {
    to = std::move(from);
  } else {
    to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
  }
  from.clear();
}

}  // namespace

void append(Batch& whole, Batch part) {
  move_rows(whole.check_ins, part.check_ins);
  move_rows(whole.watcher_rows, part.watcher_rows);
  move_rows(whole.controllers, part.controllers);
  move_rows(whole.outages, part.outages);
  move_rows(whole.decisions, part.decisions);
  move_rows(whole.notices, part.notices);
  move_rows(whole.attempts, part.attempts);
  move_rows(whole.calls, part.calls);
  move_rows(whole.shelves, part.shelves);
  move_rows(whole.links, part.links);
  move_rows(whole.proofs, part.proofs);
  move_rows(whole.drills, part.drills);
  move_rows(whole.stand_ins, part.stand_ins);
  move_rows(whole.readings, part.readings);
  move_rows(whole.facts, part.facts);
  if (part.next_outage) whole.next_outage = part.next_outage;
}

Committer::Committer(boost::asio::any_io_executor loop, StoreThread& store,
                     std::function<void(const StoreHealth&)> changed)
    : store_(store), timer_(std::move(loop)), changed_(std::move(changed)) {}

void Committer::later(Batch part) {
  append(waiting_, std::move(part));
  if (!armed_) arm(group_for);
}

void Committer::now(Batch part, std::function<void(bool)> done) {
  append(waiting_, std::move(part));
  waiters_.push_back(std::move(done));
  if (!under_way_) send();
}

void Committer::stop() {
  stopped_ = true;
  timer_.cancel();
}

void Committer::arm(std::chrono::seconds wait) {
  if (stopped_) return;
  armed_ = true;
  timer_.expires_after(wait);
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (error) return;
    armed_ = false;
    if (!under_way_ && !waiting_.empty()) send();
  });
}

void Committer::send() {
  if (fill_) fill_(waiting_);
  // The copy is what a failed commit puts back, in front of what has come since.
  auto kept = std::make_shared<Batch>(std::exchange(waiting_, Batch{}));
  auto waiters = std::make_shared<Waiters>(std::exchange(waiters_, Waiters{}));
  under_way_ = true;
  store_.commit(*kept, [this, kept, waiters](const Result<void>& result) {
    under_way_ = false;
    committed(std::move(*kept), result);
    for (const auto& done : *waiters) done(result.ok());
    if (!under_way_ && !waiters_.empty()) send();
  });
}

void Committer::committed(Batch batch, const Result<void>& result) {
  const StoreHealth before = health_;
  health_.failing = !result.ok();
  health_.reason = result.ok() ? std::string() : result.error().text;
  if (!result.ok()) {
    if (result.error().code == Errc::bad_input) {
      // Only rows of history are judged by their content; such a row would be refused for ever and
      // must not hold decisions and notices back.
      batch.check_ins.clear();
      batch.watcher_rows.clear();
    }
    append(batch, std::exchange(waiting_, Batch{}));
    auto& rows = batch.check_ins;
    if (rows.size() > unsaved_check_ins_max) {
      rows.erase(rows.begin(), rows.end() - static_cast<std::ptrdiff_t>(unsaved_check_ins_max));
    }
    waiting_ = std::move(batch);
    if (!armed_) arm(retry_after);
  }
  if (before.failing != health_.failing || before.reason != health_.reason) changed_(health_);
}

}  // namespace ebbwatch
