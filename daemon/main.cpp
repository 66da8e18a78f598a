// ebbwatchd: reads its two options and runs.
#include <getopt.h>

#include <cstdio>
#include <string>

#include "app/daemon.h"

namespace {

constexpr const char* usage =
    "Usage: ebbwatchd [--config FILE]\n"
    "Watches tank controllers and tells the right person when one falls silent.\n"
    "\n"
    "  --config FILE  settings, by default /etc/ebbwatch/ebbwatch.yaml\n"
    "  --version      print the version and exit\n"
    "  --help         print this and exit\n"
    "\n"
    "Runs in the foreground and logs to standard error. SIGHUP reads the settings again,\n"
    "SIGTERM and SIGINT stop it in good order. Exit status: 0 stopped, 1 failed, 2 wrong "
    "settings.\n"
    "Example: ebbwatchd --config /etc/ebbwatch/ebbwatch.yaml\n";

}  // namespace

int main(int argc, char** argv) {
  std::string configuration = "/etc/ebbwatch/ebbwatch.yaml";
  const option options[] = {{"config", required_argument, nullptr, 'c'},
                            {"version", no_argument, nullptr, 'v'},
                            {"help", no_argument, nullptr, 'h'},
                            {nullptr, 0, nullptr, 0}};
  int chosen = 0;
  while ((chosen = getopt_long(argc, argv, "c:vh", options, nullptr)) != -1) {
    switch (chosen) {
      case 'c':
        configuration = optarg;
        break;
      case 'v':
        std::puts("ebbwatchd " EBBWATCH_VERSION);
        return 0;
      case 'h':
        std::fputs(usage, stdout);
        return 0;
      default:
        std::fputs(usage, stderr);
        return 2;
    }
  }
  if (optind != argc) {
    std::fprintf(stderr, "ebbwatchd: unexpected argument '%s'\n%s", argv[optind], usage);
    return 2;
  }
  return ebbwatch::run_daemon(configuration);
}
