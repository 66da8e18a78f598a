#include <CLI/CLI.hpp>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <cstdio>
#include <memory>
#include <variant>

#include "cli/context.h"
#include "cli/history_chart.h"
#include "report/export.h"
#include "store/sqlite_store.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

struct HistoryOptions {
  std::string as = "decisions", from, until, subject;
  std::size_t newest = 0;
  bool json = false, csv = false, chart = false;
};

std::string spoken(std::string text) {
  for (char& c : text) {
    if (c == '_') c = ' ';
  }
  return text;
}

/// Two or more lines for people: what was decided, then the evidence.
void print_decision(const DecisionRow& row) {
  std::printf("%s  %s of %s %s\n", to_rfc3339(row.at).c_str(), spoken(row.kind).c_str(),
              row.scope.c_str(), row.subject.c_str());
  boost::system::error_code error;
  const auto parsed = boost::json::parse(row.json, error);
  const auto* object = error ? nullptr : parsed.if_object();
  if (!object) return;
  if (const auto* cause = object->if_contains("cause"); cause && cause->is_string()) {
    std::printf("    cause: %s\n", spoken(std::string(cause->get_string())).c_str());
  }
  const auto line = [object](const char* key) {
    const auto* value = object->if_contains(key);
    if (value && value->is_string() && !value->get_string().empty()) {
      std::printf("    %s: %s\n", key, value->get_string().c_str());
    }
  };
  line("until");
  line("reason");
  line("text");
  line("by");
  const auto* evidence = object->if_contains("evidence");
  if (!evidence || !evidence->is_array()) return;
  for (const auto& sentence : evidence->get_array()) {
    if (sentence.is_string()) std::printf("    %s\n", sentence.get_string().c_str());
  }
}

std::string number(std::optional<double> value) {
  if (!value) return {};
  char text[40];
  std::snprintf(text, sizeof text, "%.10g", *value);
  return text;
}

/// FORMATS section 4, one row.
void print_heard(const HeardRow& row, const std::string& watcher, WallTime beginning) {
  if (const auto* in = std::get_if<CheckInRow>(&row)) {
    // A relayed one is what the other watcher heard.
    const std::string& hearer = in->relayed_by.empty() ? watcher : in->relayed_by;
    std::printf("%.3f,%s,%s,%s,,%s,%s,%s\n", (in->at - beginning).seconds(), hearer.c_str(),
                in->buffered ? "buffered" : "check-in", in->controller.c_str(),
                in->seq ? std::to_string(*in->seq).c_str() : "", number(in->uptime_s).c_str(),
                in->power.c_str());
  } else {
    const auto& own = std::get<WatcherRow>(row);
    const char* ok = own.kind == "uplink" ? (own.ok ? "1" : "0") : "";
    std::printf("%.3f,%s,%s,%s,%s,,,\n", (own.at - beginning).seconds(), watcher.c_str(),
                own.kind.c_str(), own.subject.c_str(), ok);
  }
}

Result<void> print_trace(Store& store, const HistoryQuery& query, const std::string& watcher) {
  std::printf("time_s,watcher,kind,subject,ok,seq,uptime_s,power\n");
  std::optional<WallTime> beginning;
  return store.for_each_heard(query, [&](const HeardRow& row) {
    const WallTime at = std::visit([](const auto& one) { return one.at; }, row);
    if (!beginning) beginning = at;
    print_heard(row, watcher, *beginning);
    return true;
  });
}

Result<void> print_decisions(Store& store, const HistoryQuery& query,
                             const HistoryOptions& options) {
  const auto rows = store.decisions(query);
  if (!rows) return rows.error();
  const auto form = options.csv ? report::Form::csv : report::Form::json;
  const bool file = options.csv || options.json;
  if (file) std::fputs(report::decision_head(form).c_str(), stdout);
  for (const auto& row : rows.value()) {
    if (file) {
      std::fputs(report::decision_row(form, row).c_str(), stdout);
    } else {
      print_decision(row);
    }
  }
  if (rows.value().empty() && !file) std::printf("Nothing has been decided yet.\n");
  return {};
}

/// Hours where raw check-ins are too old to be kept, then these; JSON unless CSV is asked for.
Result<void> print_check_ins(Store& store, const HistoryQuery& query, bool csv) {
  const auto form = csv ? report::Form::csv : report::Form::json;
  const auto print = [form](const auto& row) {
    return std::fputs(report::heard_row(form, row).c_str(), stdout) >= 0;
  };
  std::fputs(report::heard_head(form).c_str(), stdout);
  return store.for_each_kept(query, print, [&print](const HeardRow& row) {
    const auto* heard = std::get_if<CheckInRow>(&row);
    return heard == nullptr || print(*heard);
  });
}

bool read_time(Context& context, const char* option, const std::string& text,
               std::optional<WallTime>& into) {
  if (text.empty()) return true;
  into = from_rfc3339(text);
  if (!into) {
    complain(context,
             std::string(option) + ": '" + text + "' is not a time; write 2026-11-02T18:00:00Z.",
             exit_usage);
  }
  return into.has_value();
}

void history(Context& context, const HistoryOptions& options) {
  Settings settings;
  HistoryQuery query;
  query.newest = options.newest;
  query.subject = options.subject;
  if (!load_or_complain(context, settings) ||
      !read_time(context, "--from", options.from, query.from) ||
      !read_time(context, "--until", options.until, query.until)) {
    return;
  }
  StoreOptions beside;
  beside.sole_watcher = false;
  const auto store = open_store(settings.watcher.state_dir, beside);
  if (!store) return complain(context, store.error().text);
  if (options.chart) return print_chart(context, *store.value(), settings, query);
  const auto printed =
      options.as == "trace"       ? print_trace(*store.value(), query, settings.watcher.name)
      : options.as == "check-ins" ? print_check_ins(*store.value(), query, options.csv)
                                  : print_decisions(*store.value(), query, options);
  if (!printed) complain(context, printed.error().text);
}

}  // namespace

void add_history(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand("history", "What was decided, and what was heard");
  command->footer(
      "Works whether or not the daemon runs.\n"
      "Example: ebbwatch history --newest 20\n"
      "Example: ebbwatch history --subject lagoon --chart > lagoon.svg\n"
      "With --csv a text that begins with = + - or @ gets an apostrophe in front, so that no\n"
      "spreadsheet runs it; times are ISO 8601 in UTC.\n"
      "Example: ebbwatch history --csv --from 2026-10-01T00:00:00Z > october.csv\n"
      "Example: ebbwatch history --as check-ins --subject lagoon-main --csv > lagoon.csv\n"
      "Example: ebbwatch history --as trace > heard.csv; ebbwatch replay --trace heard.csv");
  auto options = std::make_shared<HistoryOptions>();
  command->add_option("--as", options->as, "What to print")
      ->check(CLI::IsMember({"decisions", "check-ins", "trace"}))
      ->capture_default_str();
  command->add_option("--newest", options->newest, "Only so many, the newest")->type_name("N");
  command->add_option("--subject", options->subject, "Only of this controller, tank, site or area");
  command->add_option("--from", options->from, "Not before this time (RFC 3339)")
      ->type_name("TIME");
  command->add_option("--until", options->until, "Only before this time")->type_name("TIME");
  command->add_flag("--json", options->json, "One decision or check-in a line, as JSON");
  command->add_flag("--csv", options->csv, "As CSV (RFC 4180), for spreadsheets")
      ->excludes("--json");
  command->add_flag("--chart", options->chart,
                    "One tank's strip as SVG: spacing of check-ins, readings, outages");
  add_config_option(*command, context);
  command->callback([&context, options] { history(context, *options); });
}

}  // namespace ebbwatch
