// Rows of comma-separated values (RFC 4180) that spreadsheets do not take for formulas. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

/// A text as one field: in quotes where it has a comma, a quote or a line end. A text that begins
/// with = + - @, a tab or a line end would be run as a formula by some programs, so an apostrophe
/// is put in front of it; strip it when you read the file with a program of your own.
std::string csv_text(std::string_view text);
/// Fields as they are (from csv_text(), or numbers and times) with commas between, ended by CR LF.
std::string csv_row(const std::vector<std::string>& fields);

}  // namespace ebbwatch
