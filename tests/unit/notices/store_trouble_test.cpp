// People hear that the watcher cannot store, without the store.
#include <doctest/doctest.h>

#include "notices/desk_bench.h"

using namespace ebbwatch;
using sample::DeskBench;

namespace {

void store_fails(DeskBench& bench) {
  bench.store(bench.desk->on_store(true, "The disk is full.", bench.now, bench.entropy));
}
void store_works(DeskBench& bench) {
  bench.store(bench.desk->on_store(false, "", bench.now, bench.entropy));
}

}  // namespace

TEST_CASE("store: a failure of one minute is told to the watcher's own list, and its end") {
  DeskBench bench;
  store_fails(bench);
  bench.pass(Span::of_s(59));
  CHECK(bench.send().empty());
  bench.pass(Span::of_s(1));
  CHECK(bench.send() == "text>robin store_failing");
  CHECK(bench.flying[0].message.subject ==
        "Watcher harbour: cannot store what it decides since 14:00");
  CHECK(bench.flying[0].message.text.find("The disk is\nfull.") != std::string::npos);
  bench.delivered("text>robin store_failing");
  store_fails(bench);
  bench.pass(Span::of_h(3));
  CHECK(bench.send().empty());
  store_works(bench);
  CHECK(bench.send() == "text>robin store_working");
  bench.delivered("text>robin store_working");
  CHECK(bench.desk->notices() == 0);
}

TEST_CASE("store: a short failure is told to nobody") {
  DeskBench bench;
  store_fails(bench);
  bench.pass(Span::of_s(59));
  store_works(bench);
  bench.pass(Span::of_h(1));
  CHECK(bench.send().empty());
  CHECK_FALSE(bench.desk->next_deadline().has_value());
}

TEST_CASE("store: what was not sent before it works again is called off") {
  DeskBench bench;
  store_fails(bench);
  bench.pass(Span::of_min(1));
  SUBCASE("nothing was under way") {
    store_works(bench);
    CHECK(bench.send().empty());
  }
  SUBCASE("an attempt was under way and arrives") {
    CHECK(bench.send() == "text>robin store_failing");
    store_works(bench);
    bench.delivered("text>robin store_failing");
    CHECK(bench.send() == "text>robin store_working");
  }
}

TEST_CASE("store: without a list of its own the watcher tells the first persons of all lists") {
  Settings settings = sample::settings();
  settings.watcher.call_list.reset();
  DeskBench bench(settings);
  store_fails(bench);
  bench.pass(Span::of_min(1));
  CHECK(bench.send() == "text>robin store_failing; text>kim store_failing");
}
