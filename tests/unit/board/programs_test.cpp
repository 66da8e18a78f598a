#include <doctest/doctest.h>

#include "board/calendar_feed.h"
#include "board/metrics_text.h"
#include "board/wall_keys.h"

using namespace ebbwatch;

namespace {

constexpr WallTime noon{Span::of_s(1'700'000'000).us};  // 2023-11-14T22:13:20Z

}  // namespace

TEST_CASE("calendar: lines are folded at 75 octets and never inside a character (RFC 5545, 3.1)") {
  std::string name;
  for (int i = 0; i < 60; ++i) name += "\xC3\xA4";
  const auto text = calendar_feed("x", {{"a", noon, noon + Span::of_h(1), name, "b"}}, noon);
  std::size_t from = 0;
  std::string whole;
  for (auto end = text.find("\r\n"); end != std::string::npos; end = text.find("\r\n", from)) {
    const auto line = text.substr(from, end - from);
    CHECK(line.size() <= 75);
    whole += line.starts_with(" ") ? line.substr(1) : "\n" + line;
    from = end + 2;
  }
  CHECK(from == text.size());
  CHECK(whole.find("\nSUMMARY:" + name + "\n") != std::string::npos);
}

TEST_CASE("calendar: texts are escaped, and no line end gets in (RFC 5545, 3.3.11)") {
  const auto text = calendar_feed(
      "x", {{"a", noon, noon + Span::of_min(30), "a,b;c\\d\r\nEND:VCALENDAR", "\x01two\nlines"}},
      noon);
  CHECK(text.find("SUMMARY:a\\,b\\;c\\\\d\\nEND:VCALENDAR\r\n") != std::string::npos);
  CHECK(text.find("DESCRIPTION:two\\nlines\r\n") != std::string::npos);
  CHECK(text.find("DTSTART:20231114T221320Z\r\n") != std::string::npos);
  CHECK(text.find("DTEND:20231114T224320Z\r\n") != std::string::npos);
}

TEST_CASE("figures: a family has type, unit, help and escaped labels, and the text an end") {
  CHECK(metrics_text({{"ebb_seconds", "seconds", "When.", {{{{"a", "x\"y\\z\n"}}, 1.5}}},
                      {"ebb_up", "", "Up.", {{{}, 1}}}}) ==
        "# TYPE ebb_seconds gauge\n# UNIT ebb_seconds seconds\n# HELP ebb_seconds When.\n"
        "ebb_seconds{a=\"x\\\"y\\\\z\\n\"} 1.5\n"
        "# TYPE ebb_up gauge\n# HELP ebb_up Up.\nebb_up 1\n# EOF\n");
}

TEST_CASE("keys of read-only addresses: only hashes are known, and the scheme must be right") {
  WallKeys keys;
  CHECK_FALSE(keys.good(""));
  keys.use({{"kitchen", wall_key_hash("abc"), noon}});
  CHECK(keys.good("abc"));
  CHECK_FALSE(keys.good(wall_key_hash("abc")));
  // FIPS 180-4 example: SHA-256 of "abc".
  CHECK(wall_key_hash("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(bearer_key("BEARER abc") == "abc");
  CHECK(bearer_key("Bearer").empty());
  CHECK(bearer_key("Basic abc").empty());
}
