#include "cli/progress_bar.h"

#include <algorithm>
#include <cstdio>

namespace ebbwatch {

std::string progress_text(int percent) {
  constexpr int cells = 51;
  const int full = std::clamp(percent, 0, 100) * cells / 100;
  std::string number = std::to_string(std::clamp(percent, 0, 100));
  number.insert(0, 3 - number.size(), ' ');
  return "[" + std::string(static_cast<std::size_t>(full), '=') +
         std::string(static_cast<std::size_t>(cells - full), ' ') + "] " + number + " %";
}

void ProgressBar::show(double share) {
  const int percent = static_cast<int>(std::clamp(share, 0.0, 1.0) * 100);
  if (!visible_ || percent == percent_) return;
  percent_ = percent;
  std::fprintf(stderr, "\r%s", progress_text(percent).c_str());
}

void ProgressBar::clear() {
  if (!visible_ || percent_ < 0) return;
  std::fprintf(stderr, "\r%*s\r", 60, "");
  percent_ = -1;
}

}  // namespace ebbwatch
