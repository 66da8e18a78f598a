#include "core/steadiness.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch {

double decayed(double penalty, Span passed, Span half_life) {
  return penalty * std::exp2(-passed.seconds() / half_life.seconds());
}

double ceiling_of(const Steadiness& rules) {
  return rules.reuse * std::exp2(rules.longest.seconds() / rules.half_life.seconds());
}

bool usable(const Steadiness& rules) {
  return rules.half_life.us > 0 && rules.reuse > 0 && rules.reuse < rules.suppress &&
         rules.suppress <= ceiling_of(rules);
}

void FigureOfMerit::add(Instant at, const Steadiness& rules) {
  if (!usable(rules)) return;
  penalty_ = std::min(this->at(at, rules) + rules.penalty, ceiling_of(rules));
  as_of_ = at;
  if (penalty_ >= rules.suppress) unsteady_ = true;
}

double FigureOfMerit::at(Instant now, const Steadiness& rules) const {
  return penalty_ == 0 ? 0 : decayed(penalty_, now - as_of_, rules.half_life);
}

bool FigureOfMerit::settle(Instant now, const Steadiness& rules) {
  if (!unsteady_ || at(now, rules) > rules.reuse) return false;
  unsteady_ = false;
  return true;
}

Instant FigureOfMerit::reuse_at(Instant now, const Steadiness& rules) const {
  const double figure = at(now, rules);
  if (figure <= rules.reuse) return now;
  const double half_lives = std::log2(figure / rules.reuse);
  return now + Span::of_seconds(half_lives * rules.half_life.seconds()) + Span::of_us(1);
}

}  // namespace ebbwatch
