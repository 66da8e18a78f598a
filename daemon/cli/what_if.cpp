#include "cli/what_if.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/value.hpp>
#include <cstdio>
#include <map>

#include "core/decision.h"
#include "core/wording.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

/// Two silences that are the same outage need not begin at the same moment: another delay may see
/// other controllers first.
constexpr Span same_beginning = Span::of_min(15);

std::string spoken(std::string text) {
  for (char& c : text) {
    if (c == '_') c = ' ';
  }
  return text;
}

std::string site_id_of(const WatchPlan& plan, Subject subject) {
  const auto site = site_of(plan, subject);
  return site ? plan.sites[site->value].id : "";
}

/// The site of a subject that is known by name only; empty when the plan has no such subject.
std::string site_id_of(const WatchPlan& plan, const std::string& scope, const std::string& id) {
  const auto find = [&](const auto& items, Scope kind) -> std::string {
    for (std::uint32_t i = 0; i < items.size(); ++i) {
      if (items[i].id == id) return site_id_of(plan, Subject{kind, i});
    }
    return "";
  };
  if (scope == word(Scope::controller)) return find(plan.controllers, Scope::controller);
  if (scope == word(Scope::tank)) return find(plan.tanks, Scope::tank);
  return scope == word(Scope::site) ? id : "";
}

bool is_same(const ToldLoss& a, const ToldLoss& b) {
  if (!a.site.empty() && !b.site.empty() && a.site != b.site) return false;
  const auto end = [](const ToldLoss& it) { return it.recovered.value_or(Instant::never()); };
  const bool overlap = a.since < end(b) && b.since < end(a);
  const Span apart = a.since < b.since ? b.since - a.since : a.since - b.since;
  const bool both_ended = a.recovered && b.recovered;
  return both_ended ? overlap : overlap && apart <= same_beginning;
}

std::string after(const std::optional<ToldLoss>& told) {
  return told ? span_text(told->told_at - told->since) : "-";
}

const ToldLoss& either(const ComparedLoss& loss) {
  return loss.then ? *loss.then : *loss.now;
}

struct Totals {
  std::size_t then = 0, now = 0, only_then = 0, only_now = 0, both = 0;
  Span later;  ///< Of both, together.
};

Totals totals_of(const std::vector<ComparedLoss>& losses) {
  Totals totals;
  for (const ComparedLoss& loss : losses) {
    totals.then += loss.then ? 1 : 0;
    totals.now += loss.now ? 1 : 0;
    totals.only_then += loss.now ? 0 : 1;
    totals.only_now += loss.then ? 0 : 1;
    if (!loss.then || !loss.now) continue;
    ++totals.both;
    totals.later += loss.now->told_at - loss.then->told_at;
  }
  return totals;
}

std::string totals_text(const Totals& totals) {
  std::string out = "Told " + std::to_string(totals.then) + ", with these settings " +
                    std::to_string(totals.now) + ": " + std::to_string(totals.only_then) +
                    " only then told, " + std::to_string(totals.only_now) +
                    " only with these settings.\n";
  if (totals.both == 0) return out;
  const Span mean = totals.later / static_cast<std::int64_t>(totals.both);
  out += "The " + std::to_string(totals.both) + " of both would have been told ";
  if (mean.us > -500'000 && mean.us < 500'000) return out + "at the same time on average.\n";
  return out + span_text(Span{mean.us < 0 ? -mean.us : mean.us}) +
         (mean.us < 0 ? " sooner" : " later") + " on average.\n";
}

json::value loss_json(const std::optional<ToldLoss>& told,
                      const std::function<std::string(Instant)>& when) {
  if (!told) return nullptr;
  return {{"at", when(told->told_at)},
          {"after_s", (told->told_at - told->since).seconds()},
          {"scope", told->scope},
          {"subject", told->subject},
          {"cause", told->cause}};
}

}  // namespace

Result<std::vector<ToldLoss>> told_losses(const std::vector<DecisionRow>& rows,
                                          const WatchPlan& plan) {
  std::vector<ToldLoss> out;
  std::map<std::uint64_t, std::size_t> positions;
  for (const DecisionRow& row : rows) {
    if (row.outage == 0) continue;
    const bool is_loss = row.kind == word(DecisionKind::loss);
    boost::system::error_code error;
    const json::value parsed = json::parse(row.json, error);
    const auto* object = error ? nullptr : parsed.if_object();
    const auto* since = object ? object->if_contains("since_s") : nullptr;
    const auto* cause = object ? object->if_contains("cause") : nullptr;
    if (!since || !since->is_number() || !cause || !cause->is_string()) {
      return Error{Errc::bad_input,
                   "decision " + std::to_string(row.number) + " of the store cannot be read"};
    }
    const auto known = positions.find(row.outage);
    if (known == positions.end()) {
      if (!is_loss) continue;
      positions.emplace(row.outage, out.size());
      out.push_back({row.scope,
                     row.subject,
                     site_id_of(plan, row.scope, row.subject),
                     Instant::of_seconds(since->to_number<double>()),
                     Instant{row.at.us},
                     {},
                     std::string(cause->get_string())});
      continue;
    }
    ToldLoss& told = out[known->second];
    told.cause = cause->get_string();
    if (row.kind == word(DecisionKind::recovery)) {
      told.recovered = Instant::of_seconds(since->to_number<double>());
    } else if (row.kind == word(DecisionKind::cause_revised)) {
      told.scope = row.scope;
      told.subject = row.subject;
      told.site = site_id_of(plan, row.scope, row.subject);
    }
  }
  return out;
}

std::vector<ToldLoss> told_losses(const DecisionLog& log, const WatchPlan& plan) {
  std::vector<ToldLoss> out;
  for (const ToldOutage& it : log.outages()) {
    std::optional<Instant> recovered;
    if (it.recovered_s) recovered = Instant::of_seconds(*it.recovered_s);
    out.push_back({word(it.subject.scope), subject_id(plan, it.subject),
                   site_id_of(plan, it.subject), Instant::of_seconds(it.since_s),
                   Instant::of_seconds(it.told_s), recovered, word(it.cause)});
  }
  return out;
}

std::vector<ComparedLoss> compare(const std::vector<ToldLoss>& then,
                                  const std::vector<ToldLoss>& now) {
  std::vector<ComparedLoss> out;
  std::vector<bool> taken(now.size());
  std::size_t first_open = 0;
  for (const ToldLoss& told : then) {
    ComparedLoss row{told, std::nullopt};
    while (first_open < now.size() && taken[first_open]) ++first_open;
    for (std::size_t i = first_open; i < now.size(); ++i) {
      if (taken[i] || !is_same(told, now[i])) continue;
      taken[i] = true;
      row.now = now[i];
      break;
    }
    out.push_back(std::move(row));
  }
  for (std::size_t i = 0; i < now.size(); ++i) {
    if (!taken[i]) out.push_back({std::nullopt, now[i]});
  }
  std::stable_sort(out.begin(), out.end(), [](const ComparedLoss& a, const ComparedLoss& b) {
    return either(a).since < either(b).since;
  });
  return out;
}

std::string comparison_text(const std::vector<ComparedLoss>& losses,
                            const std::function<std::string(Instant)>& when) {
  std::string out;
  const auto row = [&](const std::string& a, const std::string& b, const std::string& c,
                       const std::string& d, const std::string& e) {
    char text[160];
    std::snprintf(text, sizeof text, "%-16.16s  %-25.25s  %-11.11s %-11.11s %.11s", a.c_str(),
                  b.c_str(), c.c_str(), d.c_str(), e.c_str());
    std::string line = text;
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + "\n";
  };
  out += "Told so long after the end of contact; the last column is the last cause.\n\n";
  row("silent since", "what", "was told", "these", "cause");
  for (const ComparedLoss& loss : losses) {
    const ToldLoss& it = either(loss);
    const ToldLoss& newest = loss.now ? *loss.now : it;
    row(when(it.since), it.scope + " " + it.subject, after(loss.then), after(loss.now),
        spoken(newest.cause));
    if (!loss.now) out += std::string(18, ' ') + "only then told\n";
    if (!loss.then) out += std::string(18, ' ') + "only with these settings\n";
    const bool differs = loss.then && loss.now && loss.then->subject != loss.now->subject;
    if (differs) {
      out += std::string(18, ' ') +
             ("these settings: " + loss.now->scope + " " + loss.now->subject).substr(0, 60) + "\n";
    }
  }
  if (losses.empty()) out += "No loss, neither then nor with these settings.\n";
  return out + "\n" + totals_text(totals_of(losses));
}

json::object comparison_json(const std::vector<ComparedLoss>& losses,
                             const std::function<std::string(Instant)>& when) {
  json::array rows;
  for (const ComparedLoss& loss : losses) {
    rows.push_back({{"since", when(either(loss).since)},
                    {"told", loss_json(loss.then, when)},
                    {"these_settings", loss_json(loss.now, when)}});
  }
  const Totals totals = totals_of(losses);
  json::object out;
  out["losses"] = std::move(rows);
  out["totals"] = {{"told", totals.then},
                   {"these_settings", totals.now},
                   {"only_then_told", totals.only_then},
                   {"only_these_settings", totals.only_now}};
  return out;
}

}  // namespace ebbwatch
