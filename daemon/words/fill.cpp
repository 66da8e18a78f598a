#include "words/fill.h"

#include <algorithm>

namespace ebbwatch {
namespace {

/// Calls plain(text) and gap(name) for the parts of the phrase, in their order.
template <class Plain, class InGap>
void take_apart(std::string_view phrase, Plain plain, InGap gap) {
  while (!phrase.empty()) {
    const std::size_t open = std::min(phrase.find('{'), phrase.size());
    const std::size_t close = phrase.find('}', open);
    if (close == std::string_view::npos) return plain(phrase);
    plain(phrase.substr(0, open));
    gap(phrase.substr(open + 1, close - open - 1));
    phrase.remove_prefix(close + 1);
  }
}

}  // namespace

std::string fill(std::string_view phrase, std::initializer_list<Gap> gaps) {
  std::string text;
  take_apart(
      phrase, [&](std::string_view plain) { text += plain; },
      [&](std::string_view name) {
        const auto* found = std::find_if(gaps.begin(), gaps.end(),
                                         [&](const Gap& one) { return one.name == name; });
        if (found != gaps.end()) {
          text += found->value;
        } else {
          text += '{';
          text += name;
          text += '}';
        }
      });
  return text;
}

std::vector<std::string> gaps_of(std::string_view phrase) {
  std::vector<std::string> names;
  take_apart(
      phrase, [](std::string_view) {}, [&](std::string_view name) { names.emplace_back(name); });
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace ebbwatch
