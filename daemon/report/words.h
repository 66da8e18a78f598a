// Words that reports and the board share.
#pragma once

#include <string>

#include "report/record.h"

namespace ebbwatch::report {

/// "mains power off (about 85 in 100)"; "not known". @param cause a word of FORMATS section 5.
std::string cause_text(const std::string& cause, double confidence);
/// "1 h 12 min", or "2 h so far" while it runs.
std::string lasted_text(const Outage& outage, WallTime until);
/// "4 notices: 3 delivered, 1 given up"; "nobody was told".
std::string notices_text(const Outage& outage);
/// "taken on by Robin after 4 min"; "nobody took it on".
std::string answer_text(const Outage& outage);
/// "1 outage", "3 outages"
std::string counted(std::size_t n, const std::string& one, const std::string& many);
/// 0.25 of a week: "0.25".
std::string decimal_text(double value, int decimals);

}  // namespace ebbwatch::report
