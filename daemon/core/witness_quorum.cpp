#include "core/witness_quorum.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>

namespace ebbwatch {

Witnesses::Witnesses(std::uint32_t witnesses, std::uint32_t controllers, Span quiet_max, bool asked)
    : count_(witnesses),
      controllers_(controllers),
      quiet_max_(quiet_max),
      reachable_(witnesses, false),
      last_sign_(witnesses),
      last_heard_(static_cast<std::size_t>(witnesses) * controllers, Instant::never()),
      last_said_(asked ? last_heard_.size() : 0, Instant{INT64_MIN}) {}

void Witnesses::reachable(WitnessIndex witness, bool reachable, Instant at) {
  if (witness.value >= count_) return;
  reachable_[witness.value] = reachable;
  last_sign_[witness.value] = at;
}

void Witnesses::heard(WitnessIndex witness, ControllerIndex controller, Instant when, Instant at) {
  if (witness.value >= count_ || controller.value >= controllers_) return;
  last_sign_[witness.value] = std::max(last_sign_[witness.value], at);
  Instant& last =
      last_heard_[static_cast<std::size_t>(witness.value) * controllers_ + controller.value];
  last = last.is_never() ? when : std::max(last, when);
}

Witnesses::Answer Witnesses::ask(ControllerIndex controller, Instant since, Instant now) const {
  Answer answer;
  for (std::uint32_t witness = 0; witness < count_; ++witness) {
    if (!reachable_[witness] || now - last_sign_[witness] > quiet_max_) continue;
    const Instant last =
        last_heard_[static_cast<std::size_t>(witness) * controllers_ + controller.value];
    if (last.is_never()) continue;  // It has never heard it at all: no opinion.
    ++answer.asked;
    if (last > since) ++answer.hear;
  }
  return answer;
}

void Witnesses::said(WitnessIndex witness, ControllerIndex controller, Instant at) {
  if (witness.value >= count_ || controller.value >= controllers_ || last_said_.empty()) return;
  last_said_[static_cast<std::size_t>(witness.value) * controllers_ + controller.value] = at;
}

Witnesses::Answer Witnesses::answers(ControllerIndex controller, Instant since,
                                     Instant asked) const {
  Answer answer;
  for (std::uint32_t witness = 0; witness < count_; ++witness) {
    const std::size_t at = static_cast<std::size_t>(witness) * controllers_ + controller.value;
    if (!reachable_[witness] || last_said_[at] < asked || last_heard_[at].is_never()) continue;
    ++answer.asked;
    if (last_heard_[at] > since) ++answer.hear;
  }
  return answer;
}

bool silence_confirmed(Witnesses::Answer answer, Quorum quorum) {
  const std::uint32_t voters = answer.asked + 1;
  const std::uint32_t silent = voters - answer.hear;
  if (answer.hear * 2 >= voters) return false;
  return silent >= std::max(quorum.needed(voters), 1U);
}

}  // namespace ebbwatch
