#include "core/self_trust.h"

#include <algorithm>

namespace ebbwatch {
namespace {

/// A running watcher checks its link every `uplink_every`; twice that without any sign is too long.
constexpr std::int64_t signs_apart = 2;

}  // namespace

SelfTrust::SelfTrust(Rules rules, Instant now)
    : rules_(rules), answered_(rules.references, true), last_sign_(now), last_proof_(now) {
  rules_.quorum = std::min(rules_.quorum, rules_.references);
}

std::optional<BlindSpell> SelfTrust::sign(Instant at) {
  const Instant before = last_sign_;
  last_sign_ = at;
  if (!running_) {
    // Something was heard although no start was seen: it runs.
    running_ = true;
    spell_ended(at);
    return BlindSpell{before, at, BlindSpell::Why::stopped, true};
  }
  if (!rules_.judges_presence || at - before <= rules_.uplink_every * signs_apart) {
    return std::nullopt;
  }
  // The link's own doubt, if any, is part of this spell.
  const Instant from = link_failed_ ? std::min(last_proof_, before) : before;
  spell_ended(at);
  return BlindSpell{from, at, BlindSpell::Why::stopped, false};
}

std::optional<BlindSpell> SelfTrust::started(Instant at) {
  const Instant before = last_sign_;
  running_ = true;
  last_sign_ = at;
  spell_ended(at);
  if (at == before) return std::nullopt;
  return BlindSpell{before, at, BlindSpell::Why::stopped, true};
}

void SelfTrust::stopped(Instant at) {
  last_sign_ = at;
  running_ = false;
}

std::optional<BlindSpell> SelfTrust::jumped(Instant at, Span blind_for) {
  const Instant from = std::max(at - blind_for, Instant{});
  last_sign_ = at;
  if (blind_for.us <= 0) return std::nullopt;
  spell_ended(at);
  return BlindSpell{from, at, BlindSpell::Why::stopped, true};
}

/// All of the time up to `at` is accounted for, but not what the broker owes from before.
void SelfTrust::spell_ended(Instant at) {
  last_proof_ = at;
  if (judges_broker() && !broker_failed_) broker_proof_ = at;
}

std::optional<BlindSpell> SelfTrust::broker(Instant at, bool answers) {
  const Instant before = judges_broker() ? broker_proof_ : at;
  const bool failed = broker_failed_;
  broker_failed_ = !answers;
  broker_proof_ = answers ? at : before;
  if (!failed || !answers || at == before) return std::nullopt;
  return BlindSpell{before, at, BlindSpell::Why::broker, false};
}

std::optional<BlindSpell> SelfTrust::checked(Instant at, ReferenceIndex reference, bool answered) {
  if (reference.value >= answered_.size()) return std::nullopt;
  answered_[reference.value] = answered;
  if (!judges_link()) return std::nullopt;
  const auto good =
      static_cast<std::uint32_t>(std::count(answered_.begin(), answered_.end(), true));
  if (good < rules_.quorum) {
    link_failed_ = true;
    return std::nullopt;
  }
  return answered ? prove_link(at) : std::nullopt;
}

std::optional<BlindSpell> SelfTrust::heard_remote(Instant at) {
  return prove_link(at);
}

std::optional<BlindSpell> SelfTrust::prove_link(Instant at) {
  const Instant before = last_proof_;
  const bool failed = link_failed_;
  last_proof_ = at;
  link_failed_ = false;
  // A check that fails between two proofs close to each other was the reference's own fault.
  if (!failed || at - before < rules_.uplink_every) return std::nullopt;
  return BlindSpell{before, at, BlindSpell::Why::link, false};
}

}  // namespace ebbwatch
