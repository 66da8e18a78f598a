#include "core/invariant.h"

#include <cstdio>
#include <cstdlib>

namespace ebbwatch {
namespace {

void report_to_standard_error(const char* condition, const char* file, int line) {
  std::fprintf(stderr, "ebbwatch: broken invariant: %s (%s:%d)\n", condition, file, line);
}

InvariantReport current_report = report_to_standard_error;

}  // namespace

void set_invariant_report(InvariantReport report) {
  current_report = report;
}

void invariant_broken(const char* condition, const char* file, int line) {
  current_report(condition, file, line);
  std::abort();
}

}  // namespace ebbwatch
