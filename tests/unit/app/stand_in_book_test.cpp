#include "app/stand_in_book.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'771'768'800'000'000};

Settings people() {
  Settings all;
  all.keyholders.resize(2);
  all.keyholders[0].id = "robin";
  all.keyholders[1].id = "sam";
  return all;
}
std::string fault(StandInWish wish) {
  const auto row = StandInBook().check(wish, people(), now);
  return row ? "" : row.error().text;
}

}  // namespace

TEST_CASE("stand-in: what is asked for must make sense") {
  const WallTime later = now + Span::of_h(1);
  CHECK(fault({"robin", "sam", {}, later, {}}) == "");
  CHECK(fault({"rubin", "sam", {}, later, {}}) ==
        "There is no keyholder 'rubin'; the configuration has robin, sam.");
  CHECK(fault({"robin", "", {}, later, {}}).starts_with("There is no keyholder ''"));
  CHECK(fault({"sam", "sam", {}, later, {}}) == "Nobody stands in for themselves.");
  CHECK(fault({"robin", "sam", {}, {}, {}}).starts_with("Say for how long"));
  CHECK(fault({"robin", "sam", {}, now, {}}) == "The end must be in the future.");
  CHECK(fault({"robin", "sam", later, later, {}}) == "The end must be after the beginning.");
  CHECK(fault({"robin", "sam", {}, now + Span::of_days(367), {}}).starts_with("At most a year"));
}

TEST_CASE("stand-in: a new one replaces the old one, and each ends at its time") {
  StandInBook book;
  const auto put = [&](const char* absent, const char* other, Span lasting) {
    book.put(book.check({absent, other, {}, now + lasting, {}}, people(), now).value());
  };
  put("robin", "sam", Span::of_h(2));
  put("robin", "sam", Span::of_h(1));
  CHECK(book.rows().size() == 1);
  CHECK(book.rows()[0].by == "robin");
  CHECK(book.next_end()->us == (now + Span::of_h(1)).us);
  CHECK(book.take_ended(now + Span::of_h(1) - Span::of_us(1)).empty());
  const auto ended = book.take_ended(now + Span::of_h(1));
  REQUIRE(ended.size() == 1);
  CHECK(ended[0].ended);
  CHECK_FALSE(book.take("robin"));
}
