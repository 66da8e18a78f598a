// What a carrier said became of a notice, after it had taken it.
#pragma once

#include <string>

namespace ebbwatch {

struct DeliveryReport {
  std::string notifier, notice;
  bool arrived = false;  ///< On the telephone; else: it will not arrive.
  std::string status;    ///< The carrier's word.
};

}  // namespace ebbwatch
