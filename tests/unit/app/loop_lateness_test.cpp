#include "app/loop_lateness.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("loop lateness: quantiles in whole milliseconds, rounded up") {
  LoopLateness lateness;
  CHECK(lateness.quantile(0.99) == Span());
  for (int i = 0; i < 99; ++i) lateness.add(Span::of_us(1'200));
  lateness.add(Span::of_s(5));
  CHECK(lateness.samples() == 100);
  CHECK(lateness.quantile(0.99) == Span::of_ms(2));
  CHECK(lateness.quantile(1.0) == Span::of_s(1));  // "Longer than that."
  CHECK(lateness.longest() == Span::of_s(5));
  lateness.add(Span::of_us(-3));
  CHECK(lateness.quantile(0.0) == Span());
}
