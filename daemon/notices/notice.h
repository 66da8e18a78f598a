// One notice to one person by one way, as the desk keeps it in memory, and its row in the store.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/result.h"
#include "core/time.h"
#include "notices/compose.h"
#include "notices/delivery_plan.h"
#include "notices/lanes.h"
#include "notices/story.h"
#include "ports/notifier.h"
#include "ports/store.h"

namespace ebbwatch {

struct Notice {
  Message message;
  std::string notifier;
  NotifierKind notifier_kind = NotifierKind::program;
  OutageId outage = 0;  ///< 0: belongs to none.
  /// What must reach a person at most once per way: "loss/0", "loss/1" (first reminder),
  /// "recovery", and others with the time of their decision.
  std::string group;
  Occasion occasion = Occasion::first;
  Language language = Language::english;  ///< Of the person who is told.
  Story story;
  std::vector<std::string> other_ways;  ///< Tried in this order when this one does not get through.
  bool failed_over = false;             ///< The next way has been set going.
  /// A notice that may be told only if this one (a loss) arrives; empty: none. While it is set the
  /// notice waits.
  std::string held_for;
  /// The summary or digest in which it goes; empty: by itself.
  std::string bundle;
  Delivery delivery;
  WallTime created_at;

  // Only in memory.
  std::optional<WallTime> fail_over_at;  ///< When it counts as not answered in time.
  std::uint64_t ticket = 0;              ///< Not committed yet under this ticket; 0: committed.
  std::uint64_t order = 0;               ///< Counts the notices of this process.
  std::optional<Place> place;            ///< In its notifier's queue.
};

bool is_waiting(const Notice& notice);
/// Whether other notices go in it.
bool is_bundle(const Notice& notice);
/// Whether it tells a decision of this kind.
bool tells(const Notice& notice, DecisionKind kind);
bool is_loss(const Notice& notice);
/// Whether the person may know of it: delivered, or an answer was lost.
bool may_be_known(const Notice& notice);

/// Appends what is not in the list yet.
void add_once(std::vector<std::string>& list, const std::string& item);
/// Who is told by these notices, each once; and those of them that tell one person.
std::vector<std::string> keyholders_of(const std::vector<Notice*>& notices);
std::vector<Notice*> of_keyholder(const std::vector<Notice*>& notices, const std::string& who);

/// Words from the story for the occasion, into the message.
void write_texts(Notice& notice, WallTime now);

NoticeRow to_row(const Notice& notice);
/// Errors: bad_input when the row's JSON is not what to_row() writes. The notifier's kind is left
/// at its default.
Result<Notice> from_row(const NoticeRow& row);

}  // namespace ebbwatch
