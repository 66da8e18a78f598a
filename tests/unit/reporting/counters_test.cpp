#include "reporting/counters.h"

#include <doctest/doctest.h>

#include <string>

namespace ebbwatch {
namespace {

TEST_CASE("counters: a name counts from 0, and its count stays in place") {
  Counters counters;
  CHECK(counters.value("check_ins") == 0);
  CHECK(counters.all().empty());  // Asking makes no count.
  std::uint64_t& check_ins = counters.count("check_ins");
  for (int i = 0; i < 100; ++i) counters.add("name-" + std::to_string(i));
  ++check_ins;
  counters.add("check_ins", 4);
  CHECK(counters.value("check_ins") == 5);
  CHECK(counters.value("name-77") == 1);
}

TEST_CASE("counters: names come in order") {
  Counters counters;
  for (const char* name : {"notices", "attempts", "check_ins"}) counters.add(name);
  std::string names;
  for (const auto& [name, count] : counters.all()) names += name + " ";
  CHECK(names == "attempts check_ins notices ");
}

TEST_CASE("counters: further names than allowed share one count") {
  Counters counters;
  for (std::size_t i = 0; i < 2 * Counters::names_max; ++i) counters.add(std::to_string(i));
  CHECK(counters.all().size() == Counters::names_max);
  CHECK(counters.value("other") == Counters::names_max + 1);
  counters.add("5");
  CHECK(counters.value("5") == 2);
}

}  // namespace
}  // namespace ebbwatch
