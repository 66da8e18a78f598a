// Random bytes from the kernel.
#pragma once

#include "ports/entropy.h"

namespace ebbwatch {

class SystemEntropy final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override;
};

}  // namespace ebbwatch
