// Sample rows, and everything that a store holds as text, so that a failed comparison reads like a
// difference.
#pragma once

#include <cstdint>
#include <string>

#include "ports/store.h"

namespace ebbwatch::test {

/// 2023-11-14T22:13:20Z plus `seconds`.
constexpr WallTime at(double seconds) {
  return WallTime{1'700'000'000'000'000} + Span::of_seconds(seconds);
}

CheckInRow check_in(double seconds, const std::string& controller);
NoticeRow notice(const std::string& id, std::uint64_t outage);
AttemptRow attempt(const std::string& notice, std::uint32_t number, double seconds);
OutageRow outage(std::uint64_t id, bool closed = false);
DecisionRow decision(double seconds, const std::string& subject, std::uint64_t outage);
CallRow call(std::uint64_t outage, bool closed = false);
ControllerRow controller(const std::string& id);

/// A batch with at least one row of every kind. Different numbers give different rows, and each row
/// names its number; check-ins at `number` seconds.
Batch full_batch(std::uint64_t number);

/// All that the port shows. An error of a read is written as text too.
std::string all_of(Store& store);

}  // namespace ebbwatch::test
