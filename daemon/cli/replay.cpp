// `ebbwatch replay`: what would have been told, from a trace of what was heard.
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <optional>

#include "cli/context.h"
#include "cli/progress_bar.h"
#include "cli/replay_run.h"
#include "cli/try_out.h"
#include "settings/plan.h"
#include "trace/trace_reader.h"

namespace ebbwatch {
namespace {

struct Options {
  std::string trace, watcher, truth, out, summary;
  std::vector<std::string> set;
  bool json = false;
};

struct FileCloser {
  void operator()(std::FILE* file) const {
    if (file != stdout) std::fclose(file);
  }
};
using File = std::unique_ptr<std::FILE, FileCloser>;

bool write_whole(std::FILE* file, std::string_view text) {
  return std::fwrite(text.data(), 1, text.size(), file) == text.size();
}

std::string joined(const std::vector<std::string>& names) {
  std::string all;
  for (const auto& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

// Whose ears to use. A trace that is cut short may hold no row of the configured watcher yet, so
// only a name that nobody knows is an error.
std::optional<std::string> chosen_watcher(Context& context, const Options& options,
                                          const Settings& settings,
                                          const std::vector<std::string>& in_trace) {
  const std::string name = options.watcher.empty() ? settings.watcher.name : options.watcher;
  if (std::find(in_trace.begin(), in_trace.end(), name) != in_trace.end()) return name;
  const bool is_configured =
      name == settings.watcher.name ||
      std::any_of(settings.witnesses.begin(), settings.witnesses.end(),
                  [&](const WitnessSettings& witness) { return witness.name == name; });
  const std::string what = "the trace holds no row of watcher " + name +
                           (in_trace.empty() ? "" : ", only of " + joined(in_trace));
  if (!is_configured) return complain(context, what, exit_usage), std::nullopt;
  std::fprintf(stderr, "ebbwatch: note: %s\n", what.c_str());
  return name;
}

void tell_summary(Context& context, const Options& options, const WatchPlan& plan,
                  const ReplaySummary& summary) {
  if (options.summary.empty()) {
    if (summary.has_truth) std::fputs(summary_text(summary, plan).c_str(), stderr);
    return;
  }
  const File file(std::fopen(options.summary.c_str(), "w"));
  const bool written = file != nullptr && write_whole(file.get(), summary_json(summary, plan)) &&
                       std::fflush(file.get()) == 0;
  if (!written) complain(context, options.summary + ": " + std::strerror(errno));
}

void run(Context& context, const Options& options, const WatchPlan& plan,
         const std::vector<TruthRow>* truth) {
  const File out(options.out.empty() ? stdout : std::fopen(options.out.c_str(), "w"));
  if (out == nullptr) return complain(context, options.out + ": " + std::strerror(errno));
  const DecisionSink sink = [&](std::string_view line) {
    return write_whole(out.get(), line) && write_whole(out.get(), "\n");
  };
  ProgressBar bar(isatty(STDERR_FILENO) == 1);
  const auto result = run_replay(plan, options.trace, sink, [&](double share) { bar.show(share); });
  bar.clear();
  const bool flushed = std::fflush(out.get()) == 0;
  if (!flushed || (!result && result.error().code == Errc::cancelled)) {
    const std::string name = options.out.empty() ? "standard output" : options.out;
    return complain(context, "writing to " + name + " failed: " + std::strerror(errno));
  }
  if (!result) return complain(context, result.error().text);
  if (result.value().passed_over > 0) {
    std::fprintf(stderr,
                 "ebbwatch: note: %llu rows are of controllers or references that are not "
                 "configured\n",
                 static_cast<unsigned long long>(result.value().passed_over));
  }
  tell_summary(context, options, plan,
               summarize(plan, result.value().log, truth, result.value().length_s));
}

void replay(Context& context, const Options& options) {
  if (!options.set.empty()) {
    return try_out(context, {options.set, options.trace, options.watcher, options.json});
  }
  if (options.trace.empty()) {
    return complain(context,
                    "--trace FILE is needed; or --set PATH=VALUE to try other settings on the "
                    "watcher's own history.",
                    exit_usage);
  }
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto watchers = watchers_of_trace(options.trace);
  if (!watchers) return complain(context, watchers.error().text);
  const auto watcher = chosen_watcher(context, options, settings, watchers.value());
  if (!watcher) return;
  const WatchPlan plan = plan_for_replay(make_plan(settings), *watcher, watchers.value());
  if (options.truth.empty()) return run(context, options, plan, nullptr);
  const auto truth = read_truth(options.truth);
  if (!truth) return complain(context, truth.error().text);
  run(context, options, plan, &truth.value());
}

}  // namespace

void add_replay(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "replay", "What would have been told: runs the same deciding over a trace of check-ins");
  command->footer(
      "Decisions are printed as JSON, one a line. With --truth a table says how well they fit.\n"
      "With --set the losses are compared with those that were told: over the watcher's own "
      "recorded\n"
      "history, or over a trace with the settings of the file. Nothing is changed.\n"
      "Example: ebbwatch replay --config site.yaml --trace trace.csv.gz --truth truth.csv\n"
      "Example: ebbwatch replay --set detection.on_delay=8min \\\n"
      "           --set sites.elm-street.detection.off_delay=5min");
  auto options = std::make_shared<Options>();
  command->add_option("--trace", options->trace, "What was heard, CSV, plain or gzip")
      ->type_name("FILE");
  command
      ->add_option("--set", options->set,
                   "Try this detection setting instead of the file's; repeatable")
      ->type_name("PATH=VALUE")
      ->allow_extra_args(false);
  command->add_flag("--json", options->json, "With --set: print the comparison as JSON");
  command->add_option("--watcher", options->watcher, "Whose hearing to use, if not the configured")
      ->type_name("NAME");
  command->add_option("--truth", options->truth, "What really happened, CSV")->type_name("FILE");
  command->add_option("--out", options->out, "Write the decisions here")->type_name("FILE");
  command->add_option("--summary", options->summary, "Write the summary here, as JSON")
      ->type_name("FILE");
  add_config_option(*command, context);
  command->callback([&context, options] { replay(context, *options); });
}

}  // namespace ebbwatch
