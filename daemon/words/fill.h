// Phrases with gaps: "No contact with {who} {since}." Pure.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

struct Gap {
  std::string_view name;
  std::string_view value;
};

/// `phrase` with the value in place of each "{name}". Values are taken as they are, so braces in
/// them do no harm. A gap without a value stays as it is; values without a gap are not used.
std::string fill(std::string_view phrase, std::initializer_list<Gap> gaps);
/// The names of its gaps, sorted, each as often as it occurs.
std::vector<std::string> gaps_of(std::string_view phrase);

}  // namespace ebbwatch
