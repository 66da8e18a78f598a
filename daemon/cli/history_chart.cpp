// `ebbwatch history --chart`: one tank's strip as an SVG file.
#include "cli/history_chart.h"

#include <algorithm>
#include <cstdio>

#include "report/strips.h"

namespace ebbwatch {

void print_chart(Context& context, Store& store, const Settings& settings,
                 const HistoryQuery& query) {
  const auto has = [&](const SiteSettings& site) {
    return std::any_of(site.tanks.begin(), site.tanks.end(),
                       [&](const TankSettings& tank) { return tank.id == query.subject; });
  };
  const auto site = std::find_if(settings.sites.begin(), settings.sites.end(), has);
  if (site == settings.sites.end()) {
    return complain(context,
                    query.subject.empty()
                        ? "--chart draws one tank: name it with --subject TANK."
                        : "--subject: no tank " + query.subject + " is configured.",
                    exit_usage);
  }
  const WallTime until = query.until.value_or(wall_now());
  const WallTime from = query.from.value_or(until - Span::of_days(1));
  if (from >= until) return complain(context, "--from must lie before --until.", exit_usage);
  const auto strips = report::tank_strips(store, settings, *site, query.subject, {from, until});
  if (!strips) return complain(context, strips.error().text);
  std::fputs(charts::svg(strips.value().front(), charts::Styling::embedded).c_str(), stdout);
}

}  // namespace ebbwatch
