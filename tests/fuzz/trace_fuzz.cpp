// Recorded traces and truth files, plain and gzip (trace/trace_reader.h, truth.h). The input is one
// file, read as both.
#include <sys/mman.h>
#include <unistd.h>

#include <cmath>

#include "fuzz.h"
#include "trace/trace_events.h"
#include "trace/trace_reader.h"
#include "trace/truth.h"

using namespace ebbwatch;

namespace {

/// A file without a name, in memory.
class MemoryFile {
 public:
  explicit MemoryFile(std::string_view bytes) : file_(memfd_create("trace", MFD_CLOEXEC)) {
    MUST(file_ >= 0);
    MUST(::write(file_, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()));
  }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;
  ~MemoryFile() { ::close(file_); }
  std::string path() const { return "/proc/self/fd/" + std::to_string(file_); }

 private:
  int file_;
};

WatchPlan plan() {
  WatchPlan out;
  out.watcher = "harbour";
  out.witnesses = {"breakwater"};
  out.uplink_references = {"resolver"};
  return out;
}

void look_at(const Error& error, const std::string& path) {
  MUST(error.code == Errc::bad_input && error.text.starts_with(path) && error.text.size() < 4000);
}

void read_trace(const std::string& path) {
  auto reader = TraceReader::open(path);
  if (!reader) return look_at(reader.error(), path);
  TraceEvents made(plan());
  std::vector<Event> events;
  TraceRow row;
  Instant last;
  for (;;) {
    const auto got = reader.value().next(row);
    if (!got) return look_at(got.error(), path);
    if (!got.value()) return;
    MUST(row.at >= last && !row.watcher.empty());
    MUST(!row.uptime_s || (std::isfinite(*row.uptime_s) && *row.uptime_s >= 0));
    last = row.at;
    made.add(row, events);
    events.clear();
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const MemoryFile file(fuzz::Input(data, size).rest());
  read_trace(file.path());
  if (const auto watchers = watchers_of_trace(file.path())) {
    MUST(watchers.value().size() <= size);
  }
  const auto truth = read_truth(file.path());
  if (!truth) {
    look_at(truth.error(), file.path());
    return 0;
  }
  for (const TruthRow& row : truth.value()) MUST(row.end_s >= row.start_s);
  return 0;
}
