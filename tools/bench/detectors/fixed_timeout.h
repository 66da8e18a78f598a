// The plainest detector: suspect when nothing came for a fixed time. "N missed in a row" is the
// same with N intervals as the time.
#pragma once

#include "detectors/detector.h"

namespace ebbwatch::bench {

class FixedTimeout final : public Detector {
 public:
  explicit FixedTimeout(double timeout_s) : timeout_s_(timeout_s) {}
  void heard(const Heard& heard) override { last_s_ = heard.at_s; }
  double suspect_at_s() const override { return last_s_ + timeout_s_; }

 private:
  double timeout_s_;
  double last_s_ = 0;
};

}  // namespace ebbwatch::bench
