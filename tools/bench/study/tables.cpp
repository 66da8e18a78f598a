#include "study/tables.h"

#include <array>
#include <cstdio>

#include "study/comparison.h"
#include "text/duration.h"

namespace ebbwatch::bench {
namespace {

using Count = unsigned long long;

template <class... Values>
std::string line(const char* format, Values... values) {
  std::array<char, 256> text{};
  std::snprintf(text.data(), text.size(), format, values...);
  return text.data();
}

std::string seconds(double s) {
  return s < 0 ? "-" : line("%.0f s", s);
}

const char* short_name(Family family) {
  switch (family) {
    case Family::fixed_timeout:
      return "fixed";
    case Family::missed_in_a_row:
      return "missed";
    default:
      return name_of(family);
  }
}

std::string own_columns(const OwnPoint& own, double median_s, std::uint64_t notices) {
  const ReplaySummary& summary = own.summary;
  const std::string delay = duration_text(own.setting.on_delay) + (own.is_configured ? " =" : "");
  return line("%-9s%7s%6llu%8llu%7llu%7llu |", delay.c_str(), seconds(median_s).c_str(),
              static_cast<Count>(summary.false_losses), static_cast<Count>(notices),
              static_cast<Count>(summary.excess_notices),
              static_cast<Count>(summary.outages_missed));
}

std::string best_columns(const ReferencePoint* best) {
  if (best == nullptr) return " none is as fast\n";
  const Figures& figures = best->figures;
  const std::string name = std::string(short_name(best->family)) + (best->holds ? "*" : "");
  return line("%6llu%8llu%7llu %s\n", static_cast<Count>(figures.false_losses),
              static_cast<Count>(figures.notices), static_cast<Count>(figures.excess_notices),
              name.c_str());
}

std::string csv_row(const std::string& who, double median_s, double p99_s, Count wrong,
                    double tank_years, Count notices, Count excess, Count missed) {
  return who + line(",%.1f,%.1f,%llu,%.3f,%llu,%llu,%llu\n", median_s, p99_s, wrong,
                    static_cast<double>(wrong) / tank_years, notices, excess, missed);
}

}  // namespace

std::string comparison_table(const Study& study) {
  const ReplaySummary& summary = study.own.front().summary;
  std::string out =
      line("%s: %.2f tank-years, %llu outages to tell, %llu blips\n\n", study.name.c_str(),
           study.tank_years, static_cast<Count>(summary.outages), static_cast<Count>(study.blips));
  out += "                 ours                        | best textbook detector as fast\n";
  out += "on-delay  median false notices excess missed | false notices excess which\n";
  for (const OwnPoint& own : study.own) {
    const auto found = match(study, own);
    const std::uint64_t told =
        own.summary.decisions.at("loss") + own.summary.decisions.at("unsteady");
    out += own_columns(own, found ? found->median_s : -1, told);
    out += found ? best_columns(found->best) : " no speed to compare at\n";
  }
  return out + "= as configured   * with the rule \"hold while my own link is down\"\n";
}

std::string controller_table(const Study& study, double median_s) {
  const OwnPoint* own = nearest(study, median_s);
  const auto found = own == nullptr ? std::nullopt : match(study, *own);
  if (!found || found->best == nullptr) return "";
  std::string out =
      line("False losses by controller, at a median of %.0f s; %s, %s\n\n", found->median_s,
           name_of(found->best->family), found->best->parameter.c_str());
  out += "controller           ours  textbook\n";
  for (std::size_t c = 0; c < study.controllers.size(); ++c) {
    out += line("%-20s%5llu%10llu\n", study.controllers[c].c_str(),
                static_cast<Count>(own->false_by_controller[c]),
                static_cast<Count>(found->best->figures.false_by_controller[c]));
  }
  return out;
}

std::string points_csv(const Study& study) {
  std::string out =
      "detector,parameter,holds,median_s,p99_s,false_losses,false_a_tank_year,notices,"
      "excess_notices,missed\n";
  for (const OwnPoint& own : study.own) {
    const ReplaySummary& summary = own.summary;
    const std::uint64_t told = summary.decisions.at("loss") + summary.decisions.at("unsteady");
    out += csv_row("ebbwatch,on_delay " + duration_text(own.setting.on_delay) + ",1",
                   summary.detection_percentile(0.5).value_or(-1),
                   summary.detection_percentile(0.99).value_or(-1), summary.false_losses,
                   study.tank_years, told, summary.excess_notices, summary.outages_missed);
  }
  for (const ReferencePoint& reference : study.references) {
    const Figures& figures = reference.figures;
    const std::string who = std::string(name_of(reference.family)) + ",\"" + reference.parameter +
                            "\"," + (reference.holds ? "1" : "0");
    out += csv_row(who, figures.detection_percentile(0.5), figures.detection_percentile(0.99),
                   figures.false_losses, study.tank_years, figures.notices, figures.excess_notices,
                   figures.missed);
  }
  return out;
}

}  // namespace ebbwatch::bench
