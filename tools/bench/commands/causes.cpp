// `ebbwatch-bench causes`: whether a claimed cause is right as often as its confidence says.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <memory>

#include "commands/commands.h"
#include "study/causes.h"

namespace ebbwatch::bench {
namespace {

struct Options {
  std::string traces;
  bool check = false, each = false;
};

double share_of(const Bin& bin) {
  return bin.uses == 0 ? 1 : static_cast<double>(bin.right) / static_cast<double>(bin.uses);
}

bool tell_goal(bool reached, const char* text) {
  std::printf("%s  %s\n", reached ? "reached" : "MISSED ", text);
  return reached;
}

void show(const CauseFigures& all, const Options& options, int& status) {
  std::printf("%s\n", cause_table(all).c_str());
  bool reached =
      tell_goal(share_of(all.bins.back()) >= 0.95, "above 0.8 wrong in at most 5 % of the uses");
  reached = tell_goal(share_of(all.last_with_evidence) >= 0.95,
                      "last cause right in at least 95 % where there is evidence") &&
            reached;
  if (options.check && !reached) status = 1;
}

void run(const Options& options, int& status) {
  const auto fail = [&](const std::string& what) {
    std::fprintf(stderr, "ebbwatch-bench: %s\n", what.c_str());
    status = 1;
  };
  const auto folders = find_sets(options.traces);
  if (!folders) return fail(folders.error().text);
  CauseFigures all;
  for (const std::string& folder : folders.value()) {
    const auto set = load_set(folder);
    if (!set) return fail(set.error().text);
    const auto figures = study_causes(set.value());
    if (!figures) return fail(figures.error().text);
    if (options.each) {
      std::printf("%s\n\n%s\n", set.value().name.c_str(), cause_table(figures.value()).c_str());
    }
    all.add(figures.value());
  }
  show(all, options, status);
}

}  // namespace

void add_causes(CLI::App& app, int& status) {
  auto* command = app.add_subcommand(
      "causes", "How often a claimed cause is right, by its confidence, over all sets together");
  auto options = std::make_shared<Options>();
  command->add_option("--traces", options->traces, "Folder with sets of traces")
      ->type_name("DIR")
      ->required();
  command->add_flag("--each", options->each, "A table for each set as well");
  command->add_flag("--check", options->check, "Exit with 1 when a goal is missed");
  command->callback([&status, options] { run(*options, status); });
}

}  // namespace ebbwatch::bench
