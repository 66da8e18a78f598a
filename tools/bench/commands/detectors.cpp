// `ebbwatch-bench detectors`: false losses against detection time, ours and the textbook's.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <fstream>
#include <memory>

#include "commands/commands.h"
#include "study/comparison.h"
#include "study/curves.h"
#include "study/tables.h"

namespace ebbwatch::bench {
namespace {

struct Options {
  std::string traces, set, out;
  bool check = false;
};

constexpr double real_median_s = 15 * 60;

void fail(int& status, const std::string& what) {
  std::fprintf(stderr, "ebbwatch-bench: %s\n", what.c_str());
  status = 1;
}

void print(const std::string& text) {
  std::fputs(text.c_str(), stdout);
}

void write_file(const std::string& path, const std::string& text, int& status) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  if (!file.flush()) fail(status, path + ": cannot be written");
}

// Truth that was inferred, not recorded, has its own goal.
bool is_inferred(const Study& study) {
  return study.name.rfind("real-", 0) == 0;
}

// What the scope, the cause and the own blindness are worth where false losses are equal.
std::string gain_text(const Study& study) {
  const OwnPoint& own = study.own.front();
  const auto plain = match(study, own, true);
  if (!plain || plain->best == nullptr) return "";
  const ReplaySummary& ours = own.summary;
  return "without a rule for the own link the best as fast has " +
         std::to_string(plain->best->figures.false_losses) +
         " false losses;\nours alone names a scope (" + std::to_string(ours.scopes_right) + " of " +
         std::to_string(ours.scopes_judged) + " right) and a cause (" +
         std::to_string(ours.causes_right) + " of " + std::to_string(ours.causes_judged) +
         " right)\n";
}

void show(const Study& study, const Options& options, int& status) {
  print(comparison_table(study) + "\n");
  if (is_inferred(study)) print(controller_table(study, real_median_s) + "\n");
  for (const Goal& goal : goals(study, is_inferred(study))) {
    print(std::string(goal.reached ? "reached  " : "MISSED   ") + goal.text + "\n");
    if (options.check && !goal.reached) status = 1;
  }
  print(gain_text(study) + "\n");
  const auto chart = curves(study);
  if (chart && !options.check) print(charts::plain_text(*chart) + "\n");
  if (!options.out.empty()) {
    if (chart) write_file(options.out + "/" + study.name + ".svg", charts::svg(*chart), status);
    write_file(options.out + "/" + study.name + ".csv", points_csv(study), status);
  }
}

void run(const Options& options, int& status) {
  const auto folders = find_sets(options.traces);
  if (!folders) return fail(status, folders.error().text);
  bool any = false;
  for (const std::string& folder : folders.value()) {
    const auto set = load_set(folder);
    if (!set) return fail(status, set.error().text);
    if (!options.set.empty() && set.value().name != options.set) continue;
    any = true;
    const auto own =
        options.check ? std::vector<OwnSetting>{{Span::of_min(10), 3}} : own_settings();
    const auto study = run_study(set.value(), all_settings(), own);
    if (!study) return fail(status, study.error().text);
    show(study.value(), options, status);
  }
  if (!any) fail(status, options.traces + ": no set is named " + options.set);
}

}  // namespace

void add_detectors(CLI::App& app, int& status) {
  auto* command = app.add_subcommand(
      "detectors", "False losses against detection time: ours beside textbook failure detectors");
  auto options = std::make_shared<Options>();
  command->add_option("--traces", options->traces, "Folder with sets of traces")
      ->type_name("DIR")
      ->required();
  command->add_option("--set", options->set, "Only this set")->type_name("NAME");
  command->add_option("--out", options->out, "Write all points here, and the curves as SVG")
      ->type_name("DIR");
  command->add_flag("--check", options->check,
                    "Goals only: few points of ours, and exit with 1 when one is missed");
  command->callback([&status, options] { run(*options, status); });
}

}  // namespace ebbwatch::bench
