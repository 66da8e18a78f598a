#include "app/drill_book.h"

#include <algorithm>
#include <sstream>

namespace ebbwatch {

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream from(text);
  std::vector<std::string> words;
  for (std::string word; from >> word;) words.push_back(word);
  return words;
}

const DrillRow* DrillBook::open(OutageId number) const {
  return const_cast<DrillBook*>(this)->find_open(number);
}

DrillRow* DrillBook::find_open(OutageId number) {
  for (DrillRow& row : rows_) {
    if (row.outage == number && !row.closed) return &row;
  }
  return nullptr;
}

std::vector<OutageId> DrillBook::all_open() const {
  std::vector<OutageId> numbers;
  for (const DrillRow& row : rows_) {
    if (!row.closed) numbers.push_back(row.outage);
  }
  return numbers;
}

std::optional<DrillRow> DrillBook::answered(OutageId number, const std::string& keyholder) {
  DrillRow* row = find_open(number);
  if (row == nullptr) return std::nullopt;
  const auto told = words_of(row->told);
  if (std::find(told.begin(), told.end(), keyholder) == told.end()) return std::nullopt;
  auto answered = words_of(row->answered);
  if (std::find(answered.begin(), answered.end(), keyholder) == answered.end()) {
    row->answered += (row->answered.empty() ? "" : " ") + keyholder;
    answered.push_back(keyholder);
  }
  row->closed = answered.size() == told.size();
  const DrillRow out = *row;
  forget_older();
  return out;
}

std::vector<DrillRow> DrillBook::take_expired(WallTime now) {
  std::vector<DrillRow> expired;
  for (DrillRow& row : rows_) {
    if (row.closed || now - row.started_at < answers_wanted_for) continue;
    row.closed = true;
    expired.push_back(row);
  }
  forget_older();
  return expired;
}

// Of the closed ones the newest of each beginner is enough.
void DrillBook::forget_older() {
  for (std::size_t i = 0; i < rows_.size();) {
    const bool newer = std::any_of(rows_.begin() + static_cast<std::ptrdiff_t>(i) + 1, rows_.end(),
                                   [&](const DrillRow& row) { return row.by == rows_[i].by; });
    if (rows_[i].closed && newer) {
      rows_.erase(rows_.begin() + static_cast<std::ptrdiff_t>(i));
    } else {
      ++i;
    }
  }
}

std::optional<WallTime> DrillBook::last_by(const std::string& by) const {
  std::optional<WallTime> last;
  for (const DrillRow& row : rows_) {
    if (row.by == by) last = row.started_at;
  }
  return last;
}

}  // namespace ebbwatch
