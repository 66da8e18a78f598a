#include "study/trace_set.h"

#include <algorithm>
#include <filesystem>

#include "cli/replay_run.h"
#include "settings/load.h"
#include "settings/plan.h"
#include "trace/trace_reader.h"

namespace ebbwatch::bench {
namespace {

bool is_set(const std::filesystem::path& folder) {
  std::error_code error;
  return std::filesystem::exists(folder / "site.yaml", error) &&
         std::filesystem::exists(folder / "trace.csv.gz", error) &&
         std::filesystem::exists(folder / "truth.csv", error);
}

void collect(const std::filesystem::path& folder, int levels, std::vector<std::string>& found) {
  if (is_set(folder)) {
    found.push_back(folder.string());
    return;
  }
  if (levels == 0) return;
  std::error_code error;
  std::filesystem::directory_iterator at(folder, error);
  const std::filesystem::directory_iterator end;
  for (; !error && at != end; at.increment(error)) {
    if (at->is_directory(error)) collect(at->path(), levels - 1, found);
  }
}

}  // namespace

Result<std::vector<std::string>> find_sets(const std::string& root) {
  constexpr int levels_max = 2;
  std::vector<std::string> found;
  collect(root, levels_max, found);
  if (found.empty()) {
    return Error{Errc::not_found, root + ": no folder with site.yaml, trace.csv.gz and truth.csv"};
  }
  std::sort(found.begin(), found.end());
  return found;
}

Result<TraceSet> load_set(const std::string& folder) {
  TraceSet set;
  set.folder = folder;
  set.name = std::filesystem::path(folder).filename().string();
  const Loaded loaded = load_settings(folder + "/site.yaml");
  if (!loaded.problems.empty()) {
    std::string all;
    for (const Problem& problem : loaded.problems) all += text(problem) + "\n";
    return Error{Errc::bad_input, all};
  }
  const auto watchers = watchers_of_trace(set.trace_path());
  if (!watchers) return watchers.error();
  set.plan =
      plan_for_replay(make_plan(loaded.settings), loaded.settings.watcher.name, watchers.value());
  auto truth = read_truth(folder + "/truth.csv");
  if (!truth) return truth.error();
  set.truth = std::move(truth.value());
  return set;
}

}  // namespace ebbwatch::bench
