#include "core/cause.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch {
namespace {

// Our own estimates (none measured). The first seven rows are how often each cause lies behind such
// a silence of several minutes; the others are how often a fault of that kind looks so.
constexpr std::array<Likelihood, observations> table = {{
    {Observation::one_of_tank, .08, .04, .88,
     "The mains and the link of its neighbours work, so the fault is near the controller."},
    {Observation::lone_of_tank, .42, .05, .53,
     "A tripped breaker and a dead controller look the same from outside."},
    {Observation::whole_tank, .74, .13, .13,
     "Several controllers of one tank share a breaker; two rarely die at once."},
    {Observation::lone_site, .36, .48, .16,
     "Links fail more often than the mains, both far more often than controllers."},
    {Observation::whole_site, .42, .56, .02,
     "As above, but several controllers do not die together."},
    {Observation::whole_area, .93, .06, .01, "What sites of an area share is the mains."},
    {Observation::whole_provider, .05, .94, .01, "What these sites share is the provider."},
    {Observation::battery_reported, .90, .01, .01, "It says so itself."},
    {Observation::battery_says_mains, .04, .90, .90,
     "The mains is on there, unless it hangs on another breaker."},
    {Observation::mains_fed_alive, .04, .10, .90, "The mains is on there."},
    {Observation::site_alive, .70, .02, .90, "The link of the site works."},
    {Observation::mains_fed_restarted, .97, .02, .85,
     "Without mains it stopped; a crashed one was started anew."},
    {Observation::several_restarted, .90, .005, .01,
     "A common restart has a common reason: the power."},
    {Observation::mains_fed_kept_running, .03, .98, .12,
     "It had power all the time; few mains-fed ones hang on an unseen UPS."},
    {Observation::battery_kept_running, .60, .98, .15, "Its battery may have carried it."},
    {Observation::battery_restarted, .40, .02, .85, "Its battery ran down, or it crashed."},
    {Observation::buffered_on_mains, .03, .80, .10, "It ran, with mains, and could not send."},
    {Observation::buffered_on_battery, .80, .02, .05, "It ran, without mains, and could not send."},
}};

constexpr double confidence_max = 0.99;

/// Two alike weigh more than one, twenty hardly more than five: they share their reason.
double weight(std::uint32_t count) {
  if (count == 0) return 0;
  return std::min(1.0 + std::log2(static_cast<double>(count)), 3.0);
}

}  // namespace

const std::array<Likelihood, observations>& likelihoods() {
  return table;
}

CauseBelief believe(const CauseFacts& facts) {
  double mains = 0;
  double internet = 0;
  double controller = 0;
  for (const Likelihood& row : table) {
    const double times = weight(facts.count(row.observation));
    mains += times * std::log(row.mains);
    internet += times * std::log(row.internet);
    controller += times * std::log(row.controller);
  }
  const double top = std::max({mains, internet, controller});
  const double sum = std::exp(mains - top) + std::exp(internet - top) + std::exp(controller - top);
  CauseBelief belief;
  belief.confidence = std::min(1 / sum, confidence_max);
  if (belief.confidence < named_from) return belief;
  if (mains == top) belief.cause = Cause::mains_power;
  if (internet == top) belief.cause = Cause::internet;
  if (controller == top) belief.cause = Cause::controller;
  return belief;
}

}  // namespace ebbwatch
