// Claimed causes against the truth, counted by confidence.
#include "study/causes.h"

#include <doctest/doctest.h>

#include <fstream>

#include "support/temporary_folder.h"

using namespace ebbwatch;
using namespace ebbwatch::bench;

namespace {

// One site with one controller; two outages and a blip.
TraceSet one_site() {
  TraceSet set;
  ControllerPlan controller;
  controller.id = "reef-main";
  controller.tank = {0};
  controller.interval = Span::of_min(1);
  set.plan.controllers = {controller};
  set.plan.tanks = {{"reef", {0}, {{0}}, {}}};
  set.plan.sites.resize(1);
  set.plan.sites[0].id = "elm";
  set.plan.sites[0].tanks = {{0}};
  set.truth = {
      {1000, 3000, Scope::site, "elm", "mains_power", TruthRow::Kind::outage},
      {9000, 12000, Scope::site, "elm", "internet", TruthRow::Kind::outage},
      {20000, 20200, Scope::site, "elm", "blip", TruthRow::Kind::blip},
  };
  return set;
}

Decision said(DecisionKind kind, OutageId outage, double at_s, double since_s, Cause cause,
              double confidence) {
  Decision decision;
  decision.kind = kind;
  decision.outage = outage;
  decision.subject = {Scope::site, 0};
  decision.at = Instant::of_seconds(at_s);
  decision.since = Instant::of_seconds(since_s);
  decision.cause = cause;
  decision.confidence = confidence;
  return decision;
}

Result<std::vector<bool>> evidence_in(const std::string& json) {
  const test::TemporaryFolder folder;
  TraceSet set = one_site();
  set.folder = folder.path();
  std::ofstream(folder.path() + "/truth-meta.json") << json;
  return read_evidence(set);
}

}  // namespace

TEST_CASE("causes: every claim counts in the bin of its confidence, the last one for the outage") {
  ClaimLog log;
  log.add(said(DecisionKind::loss, 1, 1300, 1000, Cause::undetermined, 0.3));
  log.add(said(DecisionKind::cause_revised, 1, 1500, 1000, Cause::internet, 0.5));
  log.add(said(DecisionKind::recovery, 1, 3200, 3000, Cause::mains_power, 0.9));
  log.add(said(DecisionKind::loss, 2, 9300, 9000, Cause::mains_power, 0.81));
  log.add(said(DecisionKind::recovery, 2, 12200, 12000, Cause::mains_power, 0.8));
  const CauseFigures figures = log.judge(one_site(), {true, true, false});
  CHECK(figures.bins[0].uses == 1);
  CHECK(figures.bins[0].right == 0);
  CHECK(figures.bins[1].uses == 1);  // Exactly 0.8 is not above it.
  CHECK(figures.bins[1].right == 0);
  CHECK(figures.bins[2].uses == 2);
  CHECK(figures.bins[2].right == 1);
  CHECK(figures.last_with_evidence.uses == 2);
  CHECK(figures.last_with_evidence.right == 1);
  CHECK(figures.last_without_evidence.uses == 0);
  CHECK(figures.confusion.at("internet").at("mains_power") == 1);
}

TEST_CASE("causes: a claim about a blip is no use of a cause, but is counted") {
  ClaimLog log;
  log.add(said(DecisionKind::loss, 1, 20150, 20000, Cause::controller, 0.9));
  const CauseFigures figures = log.judge(one_site(), {});
  CHECK(figures.on_no_outage == 1);
  for (const Bin& bin : figures.bins) CHECK(bin.uses == 0);
}

TEST_CASE("causes: figures of several sets add up") {
  ClaimLog log;
  log.add(said(DecisionKind::loss, 1, 1300, 1000, Cause::mains_power, 0.9));
  CauseFigures all = log.judge(one_site(), {true, false, false});
  all.add(log.judge(one_site(), {false, false, false}));
  CHECK(all.bins[2].uses == 2);
  CHECK(all.bins[2].right == 2);
  CHECK(all.last_with_evidence.uses == 1);
  CHECK(all.last_without_evidence.uses == 1);
}

TEST_CASE("evidence: the grades follow the rows; a file that does not fit them is refused") {
  const auto found =
      evidence_in(R"({"events": [{"evidence": {"any": true}}, {"evidence": {"any": false}}, {}]})");
  REQUIRE(found.ok());
  CHECK(found.value() == std::vector<bool>{true, false, false});
  CHECK_FALSE(evidence_in(R"({"events": [{}]})").ok());
  CHECK_FALSE(evidence_in("not JSON").ok());
  const auto ungraded = evidence_in(R"({"must_report_s": 900})");
  REQUIRE(ungraded.ok());
  CHECK(ungraded.value().empty());
}
