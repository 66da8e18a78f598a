// Random bytes and numbers from outside, so that tests and simulations choose them.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

namespace ebbwatch {

class Entropy {
 public:
  virtual ~Entropy() = default;
  /// Fills with unpredictable bytes, good enough for keys. Aborts when the system has none.
  virtual void fill(std::span<std::uint8_t> bytes) = 0;
  /// Uniform in [0, 1).
  double unit() {
    std::array<std::uint8_t, 8> raw{};
    fill(raw);
    std::uint64_t bits = 0;
    for (auto byte : raw) bits = bits << 8 | byte;
    return static_cast<double>(bits >> 11) * 0x1.0p-53;
  }
};

}  // namespace ebbwatch
