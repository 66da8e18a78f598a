#include "app/proof_book.h"

#include <algorithm>

#include "notices/call_list.h"

namespace ebbwatch {
namespace {

bool can_answer(const Settings& settings, const std::string& notifier, AnswerWays answers) {
  for (const NotifierSettings& one : settings.notifiers) {
    if (one.id != notifier) continue;
    if (one.kind == NotifierKind::email) return answers.links;
    const bool is_text =
        one.kind == NotifierKind::sms_gateway || one.kind == NotifierKind::gsm_modem;
    return is_text && answers.texts;
  }
  return false;
}

bool is_overdue(const WayProof& way, const CallListSettings& list, WallTime now) {
  return list.prove_every && (!way.proven_at || now - *way.proven_at > *list.prove_every);
}

}  // namespace

void ProofBook::restore(const std::vector<ProofRow>& rows) {
  for (const ProofRow& one : rows) rows_[{one.keyholder, one.notifier}] = one;
}

ProofRow& ProofBook::row(const std::string& keyholder, const std::string& notifier) {
  ProofRow& found = rows_[{keyholder, notifier}];
  found.keyholder = keyholder;
  found.notifier = notifier;
  return found;
}

void ProofBook::delivered(const std::string& keyholder, const std::string& notifier, WallTime at) {
  row(keyholder, notifier).delivered_at = at;
  keep_({keyholder, notifier, at, {}});
}

void ProofBook::answered(const std::string& keyholder, const std::string& notifier, WallTime at) {
  row(keyholder, notifier).answered_at = at;
  keep_({keyholder, notifier, {}, at});
}

const ProofRow* ProofBook::find(const std::string& keyholder, const std::string& notifier) const {
  const auto found = rows_.find({keyholder, notifier});
  return found == rows_.end() ? nullptr : &found->second;
}

std::vector<WayProof> way_proofs(const Settings& settings, const ProofBook& proofs,
                                 AnswerWays answers, WallTime now) {
  std::vector<WayProof> ways;
  for (const CallListSettings& list : settings.call_lists) {
    for (const Call& call : all_calls(settings, {list.id})) {
      for (const std::string& notifier : call.by) {
        auto way = std::find_if(ways.begin(), ways.end(), [&](const WayProof& one) {
          return one.keyholder == call.keyholder && one.notifier == notifier;
        });
        if (way == ways.end()) {
          way = ways.insert(ways.end(), {call.keyholder, notifier, {}, {}, {}, false, false});
          if (const ProofRow* row = proofs.find(call.keyholder, notifier)) {
            way->delivered_at = row->delivered_at;
            way->answered_at = row->answered_at;
          }
          way->asks_answer = can_answer(settings, notifier, answers);
          way->proven_at = way->asks_answer ? way->answered_at : way->delivered_at;
        }
        way->overdue = way->overdue || is_overdue(*way, list, now);
      }
    }
  }
  return ways;
}

}  // namespace ebbwatch
