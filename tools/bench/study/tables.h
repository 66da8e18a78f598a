// A study as text, at most 80 columns, and as CSV.
#pragma once

#include <string>

#include "study/study.h"

namespace ebbwatch::bench {

/// Ours at each on-delay beside the best textbook detector that is as fast.
std::string comparison_table(const Study& study);
/// False losses of each controller, ours beside the same detector: at the speed of the point of
/// ours nearest to `median_s`. Empty when nothing was detected.
std::string controller_table(const Study& study, double median_s);
/// Every point: detector, parameter, holds, median_s, p99_s, false_losses, false_a_tank_year,
/// notices, excess_notices, missed.
std::string points_csv(const Study& study);

}  // namespace ebbwatch::bench
