// A report as plain text for a mail or a terminal, as one HTML file for a printer or an insurer,
// and as JSON for programs. Pure.
#pragma once

#include <string>

#include "report/record.h"

namespace ebbwatch::report {

/// Lines of at most 80 columns, each with a LF.
std::string text_report(const Record& record);
/// One page, complete in itself: charts and style inside, no request to anywhere.
std::string html_report(const Record& record);
/// All figures: spans in seconds, times RFC 3339, shares from 0 to 1.
std::string json_report(const Record& record);

}  // namespace ebbwatch::report
