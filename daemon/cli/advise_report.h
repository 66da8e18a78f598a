// What advise says, from measures to texts and JSON. Pure.
#pragma once

#include <boost/json/object.hpp>
#include <optional>
#include <string>
#include <vector>

#include "advice/trade_off.h"
#include "core/site_plan.h"

namespace ebbwatch {

/// One controller with everything that is known and advised about it.
struct AdviceOfOne {
  ControllerIndex controller;
  advice::Measure measure;
  DetectionWish wish;                    ///< Empty when delays are explicit.
  std::optional<advice::Choice> choice;  ///< Of a wish.
  Span delay;                            ///< In force, min_missed included.
  Span told_within;
  advice::FalseAlarms expected;
  std::vector<std::string> advice;  ///< Sentences with the numbers that support them.
};

/// @pre the plan is made of `settings` after advice::with_choices.
std::vector<AdviceOfOne> advise_all(const Settings& settings, const WatchPlan& plan,
                                    const advice::History& history);

/// At most 80 columns wide.
std::string advice_text(const AdviceOfOne& one);
std::string own_text(const advice::OwnMeasure& own, const std::string& watcher);
boost::json::object advice_json(const AdviceOfOne& one);
boost::json::object own_json(const advice::OwnMeasure& own);

}  // namespace ebbwatch
