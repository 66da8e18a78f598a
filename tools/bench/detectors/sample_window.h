// The newest values of a series with their mean and variance, at constant cost for each value.
#pragma once

#include <cmath>
#include <cstddef>
#include <vector>

namespace ebbwatch::bench {

class SampleWindow {
 public:
  /// @param capacity > 0; older values are forgotten.
  explicit SampleWindow(std::size_t capacity) : capacity_(capacity) {}

  void clear() {
    values_.clear();
    next_ = 0;
    sum_ = 0;
    squares_ = 0;
  }
  void add(double value) {
    if (values_.size() < capacity_) {
      values_.push_back(value);
    } else {
      sum_ -= values_[next_];
      squares_ -= values_[next_] * values_[next_];
      values_[next_] = value;
      next_ = (next_ + 1) % capacity_;
    }
    sum_ += value;
    squares_ += value * value;
  }
  std::size_t size() const { return values_.size(); }
  /// @pre size() > 0.
  double mean() const { return sum_ / static_cast<double>(values_.size()); }
  /// Standard deviation of the values themselves (divided by n). @pre size() > 0.
  double deviation() const {
    const double average = mean();
    const double variance = squares_ / static_cast<double>(values_.size()) - average * average;
    return variance > 0 ? std::sqrt(variance) : 0;
  }

 private:
  std::size_t capacity_;
  std::vector<double> values_;
  std::size_t next_ = 0;
  double sum_ = 0, squares_ = 0;
};

}  // namespace ebbwatch::bench
