#include "board/event_feed.h"

#include <doctest/doctest.h>

#include "core/limits.h"

using namespace ebbwatch;

TEST_CASE("event feed: a page gets what came after the number that it has seen, once") {
  EventFeed feed("r");
  std::uint64_t seen = 0;
  CHECK(feed.since(seen).empty());
  feed.add("window", "<li>\na</li>");
  feed.add("news", "b");
  CHECK(feed.since(seen) ==
        "id: r-1\nevent: window\ndata: <li>\ndata: a</li>\n\nid: r-2\nevent: news\ndata: b\n\n");
  CHECK(feed.since(seen).empty());
  seen = 1;
  CHECK(feed.since(seen) == "id: r-2\nevent: news\ndata: b\n\n");
}

TEST_CASE("event feed: who has missed more than is kept, or comes from the future, loads again") {
  EventFeed feed("r");
  for (std::size_t i = 0; i < limits::board_events_kept + 1; ++i) feed.add("news", "x");
  std::uint64_t seen = 0;
  CHECK(feed.since(seen) == feed.reload());
  CHECK(seen == feed.newest());
  seen = 1;
  CHECK(feed.since(seen) != feed.reload());
  seen = feed.newest() + 1;
  CHECK(feed.since(seen) == feed.reload());
}

TEST_CASE("event feed: numbers of another run and other texts are not ours") {
  const EventFeed feed("r7");
  CHECK(feed.parse_id("r7-12") == 12);
  for (const char* other :
       {"", "12", "r6-12", "r7-", "r7-1x", "r7--1", "r7-99999999999999999999"}) {
    CHECK_FALSE(feed.parse_id(other));
  }
}

TEST_CASE("event feed: a stream begins with how soon to come back") {
  const EventFeed feed("r");
  CHECK(feed.opening() == "retry: 2000\nid: r-0\n\n");
  CHECK(EventFeed::heartbeat().front() == ':');
}
