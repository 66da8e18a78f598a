// The codes and links in notices by which people answer, and what they stand for. Of a link only a
// hash is kept, in memory as in the store: who reads the state directory cannot answer for others.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include "app/proof_book.h"
#include "notices/answers.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

class AnswerBook final : public Answers {
 public:
  /// All must outlive it. @param keep called with each new or changed row; what it is given must be
  /// durable before a later commit is.
  AnswerBook(const Clock& clock, Entropy& entropy, std::function<void(LinkRow)> keep);

  void restore(const std::vector<LinkRow>& rows);
  /// Where links point (listen.public_url; without it there are none), and whether texts come in.
  void use(const Settings& settings);

  std::string code(OutageId outage, const std::string& keyholder) override;
  std::string link(OutageId outage, const std::string& keyholder,
                   const std::string& notifier) override;
  /// By which ways people can answer now.
  AnswerWays ways() const { return {!public_url_.empty(), texts_come_in_}; }

  /// Four digits; those of outages whose numbers differ by less than 9,000 differ.
  static std::string code_of(OutageId outage);

  /// The row of a link's token; null for one that was never given. Valid until the next call.
  const LinkRow* find(std::string_view token) const;
  /// The link has served.
  void mark_used(const LinkRow& row);

 private:
  const Clock& clock_;
  Entropy& entropy_;
  std::function<void(LinkRow)> keep_;
  std::string public_url_;
  bool texts_come_in_ = false;
  std::map<std::string, LinkRow> by_hash_;
  /// Addresses given since the start of this process, so that all notices of one outage to one
  /// person by one way carry the same.
  std::map<std::tuple<OutageId, std::string, std::string>, std::string> given_;
};

}  // namespace ebbwatch
