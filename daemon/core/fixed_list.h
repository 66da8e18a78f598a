// A list with a ceiling and no heap: for values that are copied around on the deciding path.
#pragma once

#include <array>
#include <cstddef>

namespace ebbwatch {

template <class T, std::size_t Capacity>
class FixedList {
 public:
  /// Appends unless full. @return false when full; the list is then unchanged.
  constexpr bool push(const T& value) {
    if (size_ == Capacity) return false;
    items_[size_++] = value;
    return true;
  }
  constexpr void clear() { size_ = 0; }
  constexpr std::size_t size() const { return size_; }
  constexpr bool empty() const { return size_ == 0; }
  constexpr bool full() const { return size_ == Capacity; }
  constexpr const T& operator[](std::size_t i) const { return items_[i]; }
  constexpr T& operator[](std::size_t i) { return items_[i]; }
  constexpr const T* begin() const { return items_.data(); }
  constexpr const T* end() const { return items_.data() + size_; }

 private:
  std::array<T, Capacity> items_{};
  std::size_t size_ = 0;
};

}  // namespace ebbwatch
