#include "app/shelf_book.h"

#include <doctest/doctest.h>

#include "core/limits.h"

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'700'000'000'000'000};

/// Site and tank "lagoon", controller "lagoon-main".
WatchPlan plan() {
  WatchPlan plan;
  plan.controllers.resize(1);
  plan.controllers[0].id = "lagoon-main";
  plan.tanks.resize(1);
  plan.tanks[0].id = "lagoon";
  plan.sites.resize(1);
  plan.sites[0].id = "lagoon";
  return plan;
}

ShelfWish wish(const std::string& subject) {
  return {subject, Shelf::Kind::shelved, now + Span::of_h(2), "water change", "robin"};
}

}  // namespace

TEST_CASE("shelf book: a name that several subjects share must say which") {
  CHECK(find_subject(plan(), "lagoon").error().text.find("site/lagoon") != std::string::npos);
  CHECK(find_subject(plan(), "site/lagoon").value() == Subject{Scope::site, 0});
  CHECK(find_subject(plan(), "tank/lagoon").value() == Subject{Scope::tank, 0});
  CHECK(find_subject(plan(), "lagoon-main").value() == Subject{Scope::controller, 0});
  CHECK(find_subject(plan(), "reef").error().code == Errc::not_found);
  CHECK(find_subject(plan(), "area/lagoon").error().code == Errc::not_found);
}

TEST_CASE("shelf book: end, reason and name are needed, and the end has a limit") {
  const ShelfBook book;
  CHECK(book.check(wish("tank/lagoon"), plan(), now).ok());
  auto wrong = wish("tank/lagoon");
  SUBCASE("no end") {
    wrong.until.reset();
  }
  SUBCASE("end in the past") {
    wrong.until = now;
  }
  SUBCASE("too long") {
    wrong.until = now + limits::shelf_time_max + Span::of_s(1);
  }
  SUBCASE("no reason") {
    wrong.reason.clear();
  }
  SUBCASE("no name") {
    wrong.by.clear();
  }
  CHECK(book.check(wrong, plan(), now).error().code == Errc::bad_input);
}

TEST_CASE("shelf book: out of service has no end") {
  auto out = wish("tank/lagoon");
  out.kind = Shelf::Kind::out_of_service;
  out.until.reset();
  const auto row = ShelfBook().check(out, plan(), now);
  REQUIRE(row.ok());
  CHECK(row.value().kind == "out_of_service");
  CHECK_FALSE(row.value().until.has_value());
}

TEST_CASE("shelf book: what the core has put back is taken out") {
  ShelfBook book;
  book.put(book.check(wish("tank/lagoon"), plan(), now).value());
  book.put(book.check(wish("tank/lagoon"), plan(), now).value());
  REQUIRE(book.rows().size() == 1);
  const std::vector<Shelf> still{{{Scope::tank, 0}, Shelf::Kind::shelved, Instant{1}}};
  CHECK(book.take_ended(still, plan()).empty());
  const auto ended = book.take_ended({}, plan());
  REQUIRE(ended.size() == 1);
  CHECK(ended[0].ended);
  CHECK(book.rows().empty());
}
