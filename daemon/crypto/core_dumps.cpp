#include "crypto/core_dumps.h"

#include <sys/prctl.h>
#include <sys/resource.h>

namespace ebbwatch {
namespace {

#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
constexpr bool sanitized = true;
#else
constexpr bool sanitized = false;
#endif
#elif defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool sanitized = true;
#else
constexpr bool sanitized = false;
#endif

}  // namespace

void forbid_core_dumps() {
  // Refused where a service manager has set it already and forbids such calls.
  const rlimit none{0, 0};
  setrlimit(RLIMIT_CORE, &none);
  if (!sanitized) prctl(PR_SET_DUMPABLE, 0, 0, 0, 0);
}

}  // namespace ebbwatch
