#include "literature/belief.h"

namespace ebbwatch::bench {

AnswerChances trinocular_chances(double availability, double addresses) {
  constexpr double spurious = 0.01;  // l in the paper
  return {availability, (1 - spurious) / addresses};
}

double belief_after(double belief, bool answered, const AnswerChances& chances) {
  const double if_up = (answered ? chances.up : 1 - chances.up) * belief;
  const double if_down = (answered ? chances.down : 1 - chances.down) * (1 - belief);
  return if_up / (if_up + if_down);
}

int misses_until(double belief, double limit, const AnswerChances& chances, int misses_max) {
  int misses = 0;
  while (belief >= limit && misses < misses_max) {
    belief = belief_after(belief, false, chances);
    ++misses;
  }
  return misses;
}

}  // namespace ebbwatch::bench
