#include "board/sessions.h"

#include <doctest/doctest.h>

#include "board/login_brake.h"
#include "chance.h"
#include "core/limits.h"

using namespace ebbwatch;
using ebbwatch::test::RepeatableChance;

namespace {

constexpr WallTime noon{Span::of_s(1'700'000'000).us};

}  // namespace

TEST_CASE("sessions: the cookie opens it, its hash does not") {
  RepeatableChance chance;
  Sessions sessions(chance);
  const auto opened = sessions.open(Role::keyholder, "Robin", noon);
  CHECK(opened.token.size() == 43);  // 256 bits as base64url.
  REQUIRE(sessions.find(opened.token, noon) != nullptr);
  CHECK(sessions.find(opened.token, noon)->person == "Robin");
  CHECK(sessions.find(opened.session.token_hash, noon) == nullptr);
  CHECK(sessions.find("", noon) == nullptr);
  CHECK(opened.session.form_token != opened.token);
}

TEST_CASE("sessions: each ends in time, a viewer's later than a keyholder's") {
  RepeatableChance chance;
  Sessions sessions(chance);
  const auto viewer = sessions.open(Role::viewer, "Wall", noon);
  const auto host = sessions.open(Role::host, "Kim", noon);
  CHECK(sessions.find(host.token, noon + Span::of_h(12) - Span::of_us(1)) != nullptr);
  CHECK(sessions.find(host.token, noon + Span::of_h(12)) == nullptr);
  CHECK(sessions.find(viewer.token, noon + Span::of_days(29)) != nullptr);
  CHECK(sessions.find(viewer.token, noon + Span::of_days(30)) == nullptr);
}

TEST_CASE("sessions: leaving ends one, a new password those of its role that are older") {
  RepeatableChance chance;
  Sessions sessions(chance);
  const auto one = sessions.open(Role::viewer, "One", noon);
  const auto other = sessions.open(Role::viewer, "Other", noon);
  const auto host = sessions.open(Role::host, "Kim", noon);
  CHECK(sessions.close(one.token) == one.session.token_hash);
  CHECK(sessions.close(one.token).empty());
  CHECK(sessions.find(other.token, noon) != nullptr);
  sessions.close_older(Role::viewer, noon + Span::of_s(1));
  CHECK(sessions.find(other.token, noon) == nullptr);
  CHECK(sessions.find(host.token, noon) != nullptr);
}

TEST_CASE("sessions: a new password of one person ends that person's sessions only") {
  RepeatableChance chance;
  Sessions sessions(chance);
  const auto robin = sessions.open(Role::keyholder, "Robin", noon, "robin");
  const auto sam = sessions.open(Role::keyholder, "Sam", noon, "sam");
  sessions.close_older(Role::keyholder, noon + Span::of_s(1), "robin");
  CHECK(sessions.find(robin.token, noon) == nullptr);
  REQUIRE(sessions.find(sam.token, noon) != nullptr);
  CHECK(sessions.find(sam.token, noon)->keyholder == "sam");
}

TEST_CASE("sessions: a stored one goes on after a restart") {
  RepeatableChance chance;
  Sessions before(chance), after(chance);
  const auto opened = before.open(Role::host, "Kim", noon);
  after.restore(opened.session);
  REQUIRE(after.find(opened.token, noon) != nullptr);
  CHECK(after.find(opened.token, noon)->form_token == opened.session.form_token);
}

TEST_CASE("sessions: the table has an end, and the one that ends first makes room") {
  RepeatableChance chance;
  Sessions sessions(chance);
  const auto first = sessions.open(Role::host, "First", noon);
  for (std::size_t i = 0; i < limits::board_sessions_max; ++i) {
    sessions.open(Role::viewer, "Wall", noon + Span::of_s(1));
  }
  CHECK(sessions.size() == limits::board_sessions_max);
  CHECK(sessions.find(first.token, noon) == nullptr);
}

TEST_CASE("login brake: the first wrong passwords are free, then each wait is twice the last") {
  LoginBrake brake;
  Instant now = Instant::of_seconds(1000);
  for (std::uint32_t i = 0; i + 1 < limits::login_wrong_free; ++i) {
    brake.wrong("192.0.2.1", now);
    CHECK(brake.wait("192.0.2.1", now) == Span{});
  }
  for (const int seconds : {1, 2, 4, 8, 16, 32, 60, 60}) {
    brake.wrong("192.0.2.1", now);
    CHECK(brake.wait("192.0.2.1", now) == Span::of_s(seconds));
    now = now + Span::of_s(seconds);
    CHECK(brake.wait("192.0.2.1", now) == Span{});
  }
  CHECK(brake.wait("192.0.2.2", now) == Span{});
}

TEST_CASE("login brake: the right password, or an hour of peace, forgets") {
  LoginBrake brake;
  Instant now = Instant::of_seconds(1000);
  for (int i = 0; i < 9; ++i) brake.wrong("a", now);
  CHECK(brake.wait("a", now) > Span{});
  brake.right("a");
  CHECK(brake.wait("a", now) == Span{});
  for (int i = 0; i < 9; ++i) brake.wrong("b", now);
  now = now + Span::of_h(1) + Span::of_s(1);
  brake.wrong("b", now);
  CHECK(brake.wait("b", now) == Span{});
}
