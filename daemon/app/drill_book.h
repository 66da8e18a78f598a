// The exercises that wait for answers, and when each kind of them last began.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"
#include "ports/store.h"

namespace ebbwatch {

class DrillBook {
 public:
  /// So long answers are waited for.
  static constexpr Span answers_wanted_for = Span::of_h(24);

  void restore(const std::vector<DrillRow>& rows) { rows_ = rows; }
  void begin(const DrillRow& row) { rows_.push_back(row); }
  /// Null when no such exercise waits for answers. Valid until the next change.
  const DrillRow* open(OutageId number) const;
  std::vector<OutageId> all_open() const;
  /// This keyholder got it. Closes it when everybody who was told has said so. Empty when it is not
  /// open or did not go to them.
  std::optional<DrillRow> answered(OutageId number, const std::string& keyholder);
  /// Those that nobody waits for any more, closed.
  std::vector<DrillRow> take_expired(WallTime now);
  /// When the newest one that was begun by them started; `by` as in DrillRow.
  std::optional<WallTime> last_by(const std::string& by) const;
  /// Null when there was none.
  const DrillRow* newest() const { return rows_.empty() ? nullptr : &rows_.back(); }

 private:
  DrillRow* find_open(OutageId number);
  void forget_older();

  std::vector<DrillRow> rows_;  ///< In order of their numbers.
};

/// "robin sam" as a list, and whether a word is in it.
std::vector<std::string> words_of(const std::string& text);

}  // namespace ebbwatch
