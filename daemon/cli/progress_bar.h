// A bar on standard error for work that takes longer than a moment.
#pragma once

#include <string>

namespace ebbwatch {

class ProgressBar {
 public:
  /// @param visible whether standard error is a terminal; a bar that is not visible prints nothing.
  explicit ProgressBar(bool visible) : visible_(visible) {}
  /// @param share 0 to 1; printed only when the percentage changes.
  void show(double share);
  /// Removes the bar.
  void clear();

 private:
  bool visible_;
  int percent_ = -1;
};

/// "[=====     ]  50 %", 60 columns wide.
std::string progress_text(int percent);

}  // namespace ebbwatch
