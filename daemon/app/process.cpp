#include "app/process.h"

#include <sys/resource.h>
#include <sys/stat.h>

#include <csignal>
#include <cstdlib>

#include "crypto/core_dumps.h"
#include "reporting/log.h"

namespace ebbwatch {

void prepare_process() {
  umask(0077);
  forbid_core_dumps();
  rlimit files{};
  if (getrlimit(RLIMIT_NOFILE, &files) == 0) {
    files.rlim_cur = files.rlim_max;  // Connections have ceilings of their own in core/limits.h.
    setrlimit(RLIMIT_NOFILE, &files);
  }
  std::signal(SIGPIPE, SIG_IGN);
  open_log(Level::info, std::getenv("JOURNAL_STREAM") != nullptr);
}

}  // namespace ebbwatch
