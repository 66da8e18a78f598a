#include "report/report.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <memory>

#include "cli/context.h"
#include "cli/recorded_history.h"
#include "report/collect.h"
#include "text/calendar.h"

namespace ebbwatch {
namespace {

struct ReportOptions {
  std::string month, site, as = "text";
};

bool site_known(const Settings& settings, const std::string& id) {
  return id.empty() || std::any_of(settings.sites.begin(), settings.sites.end(),
                                   [&](const SiteSettings& site) { return site.id == id; });
}

void print_report(Context& context, const ReportOptions& options) {
  const WallTime now = wall_now();
  const auto month = local_month(options.month.empty() ? month_before(now) : options.month);
  if (!month) {
    return complain(context, "--month: '" + options.month + "' is not a month; write 2026-10.",
                    exit_usage);
  }
  if (month->from >= now) {
    return complain(context, month->name + " has not begun yet.", exit_usage);
  }
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  if (!site_known(settings, options.site)) {
    return complain(context, "--site: no site " + options.site + " is configured.", exit_usage);
  }
  const auto store = open_recorded(settings.watcher.state_dir);
  if (!store) return complain(context, store.error().text);
  const std::string title = month->name + (month->until > now ? " so far" : "") +
                            (options.site.empty() ? "" : ", site " + options.site);
  const auto record = report::collect(
      *store.value(), settings, {title, month->from, std::min(month->until, now), options.site});
  if (!record) return complain(context, record.error().text);
  const std::string text = options.as == "html"   ? report::html_report(record.value())
                           : options.as == "json" ? report::json_report(record.value()) + "\n"
                                                  : report::text_report(record.value());
  std::fputs(text.c_str(), stdout);
}

}  // namespace

void add_report(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand(
      "report", "A month's outages, availability, alarms and drills, for owners and insurers");
  command->footer(
      "Works whether or not the daemon runs. Months are those of this machine's time zone.\n"
      "Example: ebbwatch report --month 2026-10 --as html > october.html");
  auto options = std::make_shared<ReportOptions>();
  command->add_option("--month", options->month, "Which month; the last whole one when not given")
      ->type_name("YYYY-MM");
  command->add_option("--site", options->site, "Only this site")->type_name("SITE");
  command->add_option("--as", options->as, "text, html (one printable file) or json (all figures)")
      ->check(CLI::IsMember({"text", "html", "json"}))
      ->capture_default_str();
  add_config_option(*command, context);
  command->callback([&context, options] { print_report(context, *options); });
}

}  // namespace ebbwatch
