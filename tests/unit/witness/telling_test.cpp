// Who tells: the order, deputies, taking over, splits and how they heal.
#include "witness/telling.h"

#include <doctest/doctest.h>

using namespace ebbwatch;
using Kind = TellingAct::Kind;

namespace {

const TellingOrder::Place elm{"elm", {"harbour", "breakwater", "pier"}};
constexpr Span deputy_after = Span::of_min(2);

Instant s(double seconds) {
  return Instant::of_seconds(seconds);
}

struct One {
  explicit One(const std::string& name) : is(name, deputy_after), own(name) {
    for (const std::string& other : elm.order) {
      if (other != name) is.alive(other, true, s(0));
    }
  }
  int acts(Kind kind) {
    for (const TellingAct& act : is.take_acts()) seen.push_back(act);
    int count = 0;
    for (const TellingAct& act : seen) count += act.kind == kind ? 1 : 0;
    return count;
  }
  TellingAct last(Kind kind) {
    acts(kind);
    TellingAct found;
    for (const TellingAct& act : seen) {
      if (act.kind == kind) found = act;
    }
    return found;
  }
  void reached(OutageId outage, const std::string& way) { is.delivered(outage, {way}); }
  void hears(One& other, double t) { is.learn(other.own, other.is.views(s(t)), s(t)); }

  TellingOrder is;
  std::string own;
  std::vector<TellingAct> seen;
};

}  // namespace

TEST_CASE("telling: the first tells at once, the others wait in turn") {
  One harbour("harbour"), breakwater("breakwater"), pier("pier");
  harbour.is.lost(1, elm, s(0), s(300));
  breakwater.is.lost(1, elm, s(0), s(300));
  pier.is.lost(1, elm, s(0), s(300));
  CHECK(harbour.acts(Kind::tell) == 1);
  CHECK(breakwater.acts(Kind::tell) == 0);
  CHECK(breakwater.is.next_deadline() == s(420));
  CHECK(pier.is.next_deadline() == s(540));
  breakwater.is.tick(s(420));
  CHECK(breakwater.acts(Kind::tell) == 1);
}

TEST_CASE("telling: a deputy that learns that the first has reached somebody does not tell") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(7, elm, s(0), s(300));
  breakwater.is.lost(3, elm, s(0), s(301));
  breakwater.hears(harbour, 302);
  CHECK(breakwater.is.next_deadline() == s(421));  // It has reached nobody yet.
  harbour.reached(7, "loss/0 robin text");
  breakwater.hears(harbour, 310);
  breakwater.is.tick(s(1000));
  CHECK(breakwater.acts(Kind::tell) == 0);
  CHECK(breakwater.is.teller(3) == "harbour");
  CHECK(breakwater.is.name(3) == harbour.is.name(7));
}

TEST_CASE("telling: when the first is lost the next takes over what was done") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(1, elm, s(0), s(300));
  harbour.reached(1, "loss/0 robin text");
  harbour.is.acknowledged(1, "robin", s(320));
  breakwater.is.lost(1, elm, s(0), s(300));
  breakwater.hears(harbour, 330);
  CHECK(breakwater.acts(Kind::acknowledge) == 1);
  breakwater.is.alive("harbour", false, s(700));
  CHECK(breakwater.acts(Kind::tell) == 1);
  CHECK(breakwater.last(Kind::tell).delivered == std::vector<std::string>{"loss/0 robin text"});
  CHECK(breakwater.last(Kind::acknowledge).by == "robin");
  CHECK(breakwater.is.name(1) == "elm-1");
}

TEST_CASE("telling: nobody before it is alive, so a deputy tells at once") {
  One pier("pier");
  pier.is.alive("harbour", false, s(10));
  pier.is.alive("breakwater", false, s(10));
  pier.is.lost(1, elm, s(0), s(300));
  CHECK(pier.acts(Kind::tell) == 1);
}

TEST_CASE("telling: after a split both used the same name, and the later stands back") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.alive("breakwater", false, s(100));
  breakwater.is.alive("harbour", false, s(100));
  harbour.is.lost(17, elm, s(0), s(300));
  breakwater.is.lost(9, elm, s(0), s(300));
  CHECK(harbour.acts(Kind::tell) == 1);
  CHECK(breakwater.acts(Kind::tell) == 1);
  CHECK(harbour.is.name(17) == breakwater.is.name(9));
  harbour.reached(17, "loss/0 robin text");
  breakwater.reached(9, "loss/0 robin mail");
  harbour.hears(breakwater, 600);
  breakwater.hears(harbour, 600);
  CHECK(harbour.acts(Kind::hand_over) == 0);
  CHECK(harbour.last(Kind::reached).delivered == std::vector<std::string>{"loss/0 robin mail"});
  CHECK(breakwater.acts(Kind::hand_over) == 1);
  CHECK(breakwater.last(Kind::hand_over).by == "harbour");
}

TEST_CASE("telling: what is repeated, late or out of order changes nothing") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(1, elm, s(0), s(300));
  harbour.reached(1, "loss/0 robin text");
  const auto early = harbour.is.views(s(301));
  harbour.is.acknowledged(1, "robin", s(310));
  const auto late = harbour.is.views(s(311));
  breakwater.is.lost(1, elm, s(0), s(300));
  for (int i = 0; i < 3; ++i) {
    breakwater.is.learn("harbour", late, s(312));
    breakwater.is.learn("harbour", early, s(313));
  }
  CHECK(breakwater.acts(Kind::acknowledge) == 1);
  CHECK(breakwater.acts(Kind::tell) == 0);
}

TEST_CASE("telling: numbers go up at each place, for all watchers, and outlive the process") {
  One harbour("harbour"), breakwater("breakwater");
  for (OutageId id = 1; id <= 3; ++id) {
    harbour.is.lost(id, elm, s(100.0 * static_cast<double>(id)),
                    s(100.0 * static_cast<double>(id)));
    CHECK(harbour.is.name(id) == "elm-" + std::to_string(id));
    harbour.is.closed(id, s(100.0 * static_cast<double>(id) + 50));
    breakwater.hears(harbour, 100.0 * static_cast<double>(id) + 60);
  }
  breakwater.is.lost(1, elm, s(500), s(500));
  CHECK(breakwater.is.name(1) == "elm-4");
  TellingOrder again("breakwater", deputy_after);
  again.restore(breakwater.is.numbers());
  again.lost(1, elm, s(500), s(500));
  CHECK(again.name(1) == "elm-4");
  CHECK(again.find("elm-4") == 1);
}

TEST_CASE("telling: the end of an outage is spoken of for a while, then forgotten") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(1, elm, s(0), s(300));
  harbour.is.closed(1, s(400));
  CHECK(harbour.is.views(s(500)).at(0).closed);
  harbour.is.tick(s(1001));
  CHECK(harbour.is.views(s(1001)).empty());
}

TEST_CASE("telling: an end of an earlier outage does not end this one") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(1, elm, s(0), s(300));
  harbour.is.closed(1, s(400));
  const auto old = harbour.is.views(s(400));
  breakwater.is.learn("harbour", old, s(400));
  breakwater.is.lost(5, elm, s(500), s(800));
  breakwater.is.learn("harbour", old, s(801));
  breakwater.is.tick(s(920));
  CHECK(breakwater.acts(Kind::tell) == 1);
}

TEST_CASE("telling: a shelf at one watcher holds at the other") {
  One harbour("harbour"), breakwater("breakwater");
  harbour.is.lost(1, elm, s(0), s(300));
  harbour.is.put_away(1, s(4000));
  breakwater.is.lost(1, elm, s(0), s(300));
  breakwater.hears(harbour, 400);
  CHECK(breakwater.acts(Kind::put_away) == 1);
  CHECK(breakwater.last(Kind::put_away).rest == Span::of_s(3600));
}
