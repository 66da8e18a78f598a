#include "app/system_entropy.h"

#include <sys/random.h>

#include <cerrno>

#include "core/invariant.h"

namespace ebbwatch {

void SystemEntropy::fill(std::span<std::uint8_t> bytes) {
  while (!bytes.empty()) {
    const ssize_t got = getrandom(bytes.data(), bytes.size(), 0);
    if (got < 0 && errno == EINTR) continue;
    INVARIANT(got > 0);
    bytes = bytes.subspan(static_cast<std::size_t>(got));
  }
}

}  // namespace ebbwatch
