// A source of chance for tests: the same in every run.
#pragma once

#include "ports/entropy.h"

namespace ebbwatch::test {

class RepeatableChance final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override {
    for (auto& byte : bytes) {
      // Knuth's MMIX generator; its high bits are good enough to tell tokens apart.
      state_ = state_ * 6364136223846793005ULL + 1442695040888963407ULL;
      byte = static_cast<std::uint8_t>(state_ >> 56);
    }
  }

 private:
  std::uint64_t state_ = 1;
};

}  // namespace ebbwatch::test
