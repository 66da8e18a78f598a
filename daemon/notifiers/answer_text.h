// What the other side said, made fit for a log line.
#pragma once

#include <string>
#include <string_view>

namespace ebbwatch {

/// One line: control characters and runs of white space become one space, what is not UTF-8 "?",
/// and at most limits::answer_text_bytes_max bytes, cut between characters.
std::string answer_text(std::string_view said);
/// Every occurrence of `secret` replaced by "(secret)": servers like to repeat what they were sent.
std::string without_secret(std::string_view said, std::string_view secret);

}  // namespace ebbwatch
