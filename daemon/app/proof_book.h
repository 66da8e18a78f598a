// When each way to each person was last proven: something was delivered by it, and somebody
// answered what came by it.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/time.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

class ProofBook {
 public:
  /// @param keep called with each new row.
  explicit ProofBook(std::function<void(ProofRow)> keep) : keep_(std::move(keep)) {}

  void restore(const std::vector<ProofRow>& rows);
  void delivered(const std::string& keyholder, const std::string& notifier, WallTime at);
  void answered(const std::string& keyholder, const std::string& notifier, WallTime at);
  /// Null when nothing is known. Valid until the next call.
  const ProofRow* find(const std::string& keyholder, const std::string& notifier) const;

 private:
  ProofRow& row(const std::string& keyholder, const std::string& notifier);

  std::function<void(ProofRow)> keep_;
  std::map<std::pair<std::string, std::string>, ProofRow> rows_;
};

/// How one way to one person stands.
struct WayProof {
  std::string keyholder, notifier;
  std::optional<WallTime> delivered_at, answered_at;
  /// The answer, where a person can answer what comes by this way, else the delivery.
  std::optional<WallTime> proven_at;
  bool asks_answer = false;
  bool overdue = false;  ///< Not proven for longer than `prove_every` of a list that uses it.
};

/// Which ways people can answer by: mails by a link, texts by a text in reply.
struct AnswerWays {
  bool links = false, texts = false;
};

/// Every way of every call list, each once, in the order of the lists.
std::vector<WayProof> way_proofs(const Settings& settings, const ProofBook& proofs,
                                 AnswerWays answers, WallTime now);

}  // namespace ebbwatch
