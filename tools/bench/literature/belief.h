// Belief from evidence, Trinocular: Quan, Heidemann, Pradkin, "Trinocular: Understanding Internet
// Reliability Through Adaptive Probing", SIGCOMM 2013.
#pragma once

namespace ebbwatch::bench {

/// How likely an answer is, when the watched one is up and when it is down.
struct AnswerChances {
  double up = 0, down = 0;
};
/// The paper's chances for a block of `addresses`, a share `availability` of which answers.
AnswerChances trinocular_chances(double availability, double addresses);

/// Pr(up) after an answer or its absence (Bayes).
double belief_after(double belief, bool answered, const AnswerChances& chances);
/// How many misses in a row bring the belief below `limit`; at most `misses_max`.
int misses_until(double belief, double limit, const AnswerChances& chances, int misses_max);

}  // namespace ebbwatch::bench
