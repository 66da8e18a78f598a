#include "study/causes.h"

#include <algorithm>
#include <cstdio>
#include <limits>

#include "core/watch.h"
#include "trace/trace_events.h"
#include "trace/trace_reader.h"

namespace ebbwatch::bench {
namespace {

constexpr double never_s = std::numeric_limits<double>::infinity();
using Count = unsigned long long;

std::size_t bin_of(double confidence) {
  std::size_t bin = 0;
  while (bin + 1 < confidence_bins.size() && confidence > confidence_bins[bin]) ++bin;
  return bin;
}

void add_to(Bin& bin, bool right) {
  ++bin.uses;
  bin.right += right ? 1 : 0;
}

std::string row(const char* name, const Bin& bin) {
  std::array<char, 128> text{};
  if (bin.uses == 0) {
    std::snprintf(text.data(), text.size(), "%-34s%6d%8d%8s\n", name, 0, 0, "-");
    return text.data();
  }
  const double share = 100.0 * static_cast<double>(bin.right) / static_cast<double>(bin.uses);
  std::snprintf(text.data(), text.size(), "%-34s%6llu%8llu%8.1f %%\n", name,
                static_cast<Count>(bin.uses), static_cast<Count>(bin.right), share);
  return text.data();
}

}  // namespace

void CauseFigures::add(const CauseFigures& other) {
  const auto sum = [](Bin& to, const Bin& from) {
    to.uses += from.uses;
    to.right += from.right;
  };
  for (std::size_t i = 0; i < bins.size(); ++i) sum(bins[i], other.bins[i]);
  on_no_outage += other.on_no_outage;
  sum(last_with_evidence, other.last_with_evidence);
  sum(last_without_evidence, other.last_without_evidence);
  for (const auto& [real, called] : other.confusion) {
    for (const auto& [name, count] : called) confusion[real][name] += count;
  }
}

void ClaimLog::add(const Decision& decision) {
  const bool is_loss = decision.kind == DecisionKind::loss;
  const bool goes_on =
      decision.kind == DecisionKind::cause_revised || decision.kind == DecisionKind::recovery;
  if (!is_loss && !goes_on) return;
  if (is_loss) {
    positions_[decision.outage] = outages_.size();
    outages_.push_back(
        {decision.subject, decision.at.seconds(), decision.since.seconds(), never_s, {}});
  }
  const auto known = positions_.find(decision.outage);
  if (known == positions_.end()) return;
  Outage& outage = outages_[known->second];
  outage.subject = decision.subject;
  outage.claims.push_back({decision.cause, decision.confidence});
  if (decision.kind == DecisionKind::recovery) outage.recovered_s = decision.at.seconds();
}

// The same rule as that of the summary (trace/summary.h).
const RealEvent* ClaimLog::best_fit(const Outage& outage, const TruthTable& truth,
                                    const std::vector<std::uint32_t>& controllers) {
  const RealEvent* best = nullptr;
  double best_overlap = -1;
  for (const RealEvent& event : truth.events()) {
    const TruthRow& row = *event.row;
    if (row.start_s > outage.told_s) break;
    const bool is_over = outage.since_s >= row.end_s && outage.told_s > row.end_s + event.grace_s;
    const bool is_related =
        std::any_of(controllers.begin(), controllers.end(), [&](std::uint32_t c) {
          return std::find(event.controllers.begin(), event.controllers.end(), c) !=
                 event.controllers.end();
        });
    if (row.kind != TruthRow::Kind::outage || is_over || !is_related) continue;
    const double overlap =
        std::min(outage.recovered_s, row.end_s) - std::max(outage.since_s, row.start_s);
    if (best != nullptr && overlap <= best_overlap) continue;
    best = &event;
    best_overlap = overlap;
  }
  return best;
}

CauseFigures ClaimLog::judge(const TraceSet& set, const std::vector<bool>& evidence) const {
  CauseFigures figures;
  const TruthTable truth(set.plan, set.truth);
  for (const Outage& outage : outages_) {
    const RealEvent* event = best_fit(outage, truth, controllers_of(set.plan, outage.subject));
    if (event == nullptr) {
      for (const Claim& claim : outage.claims) {
        if (claim.cause != Cause::undetermined) ++figures.on_no_outage;
      }
      continue;
    }
    const TruthRow& real = *event->row;
    if (real.cause == word(Cause::undetermined)) continue;
    for (const Claim& claim : outage.claims) {
      if (claim.cause == Cause::undetermined) continue;
      add_to(figures.bins[bin_of(claim.confidence)], real.cause == word(claim.cause));
    }
    const Cause last = outage.claims.back().cause;
    const auto position = static_cast<std::size_t>(&real - set.truth.data());
    const bool has_evidence = position < evidence.size() && evidence[position];
    add_to(has_evidence ? figures.last_with_evidence : figures.last_without_evidence,
           real.cause == word(last));
    if (!has_evidence) continue;
    ++figures.confusion[real.cause][word(last)];
  }
  return figures;
}

Result<CauseFigures> study_causes(const TraceSet& set) {
  const auto evidence = read_evidence(set);
  if (!evidence) return evidence.error();
  auto reader = TraceReader::open(set.trace_path());
  if (!reader) return reader.error();
  Watch watch(set.plan, Instant{0});
  TraceEvents translate(set.plan);
  ClaimLog log;
  TraceRow row;
  std::vector<Event> events;
  std::vector<Decision> decisions;
  while (true) {
    const auto got = reader.value().next(row);
    if (!got) return got.error();
    if (!got.value()) return log.judge(set, evidence.value());
    events.clear();
    translate.add(row, events);
    for (const Event& event : events) watch.on(event, decisions);
    for (const Decision& decision : decisions) log.add(decision);
    decisions.clear();
  }
}

std::string cause_table(const CauseFigures& figures) {
  std::string out = "confidence of a claimed cause       uses   right   share\n";
  out += row("0 to 0.5", figures.bins[0]);
  out += row("above 0.5 to 0.8", figures.bins[1]);
  out += row("above 0.8", figures.bins[2]);
  out += "\nlast cause of an outage told     outages   right   share\n";
  out += row("the trace holds evidence", figures.last_with_evidence);
  out += row("it holds none", figures.last_without_evidence);
  out += "\nwith evidence: true cause, and what it was last called\n";
  for (const auto& [real, called] : figures.confusion) {
    out += "  " + real + ":";
    for (const auto& [name, count] : called) out += " " + name + " " + std::to_string(count);
    out += "\n";
  }
  return out;
}

}  // namespace ebbwatch::bench
