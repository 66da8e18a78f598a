// Which operation fails: the Nth from now, once or from then on. Shared by the fakes of the ports
// and by the faulty file layer, so that one loop can walk every error branch: N = 1, 2, 3 … until
// nothing failed any more.
#pragma once

#include <cstdint>

namespace ebbwatch::test {

class FaultPlan {
 public:
  /// Operations are counted anew from here. @param nth 1 is the next one; 0: none fails.
  void fail_at(std::uint64_t nth, bool sticky) {
    nth_ = nth;
    sticky_ = sticky;
    seen_ = 0;
    failed_ = 0;
  }
  void heal() { fail_at(0, false); }
  /// Counts one operation. @return true when it has to fail.
  bool strikes() {
    ++seen_;
    const bool struck = nth_ != 0 && (sticky_ ? seen_ >= nth_ : seen_ == nth_);
    if (struck) ++failed_;
    return struck;
  }
  std::uint64_t seen() const { return seen_; }
  /// How many operations failed since fail_at(): 0 means that the work completed before the Nth.
  std::uint64_t failed() const { return failed_; }

 private:
  std::uint64_t nth_ = 0;
  bool sticky_ = false;
  std::uint64_t seen_ = 0;
  std::uint64_t failed_ = 0;
};

}  // namespace ebbwatch::test
