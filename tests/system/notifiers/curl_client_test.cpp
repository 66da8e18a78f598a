// What libcurl must not do to the loop.
#include <doctest/doctest.h>

#include <chrono>

#include "name_lookup.h"
#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using namespace std::chrono_literals;

TEST_CASE("curl_client: a name server that does not answer holds nobody up") {
  Bench bench(Span::of_s(1));
  auto web = webhook_to(80, "/accept");
  web.webhook.url = "http://slow.invalid/accept";
  auto mail = email_to(25);
  mail.email.servers = {"smtp://slow.invalid:25"};
  for (const auto& settings : {web, mail}) {
    CAPTURE(settings.id);
    const auto notifier = bench.make(settings);
    const auto attempts = bench.deliver_all(*notifier, {loss_message()});
    CHECK(std::string(shown(attempts.outcomes.front().kind)) == "retry_later");
    CHECK(attempts.took < Span::of_ms(2500));
    CHECK(attempts.longest_stall < Span::of_ms(800));
  }
  CHECK(slow_lookups_begun() == 2);
  CHECK(holds_within(10s, [] { return slow_lookups_ended() == slow_lookups_begun(); }));
}

TEST_CASE("curl_client: cancelling during a name look-up holds nobody up") {
  Bench bench(Span::of_s(5));
  auto web = webhook_to(80, "/accept");
  web.webhook.url = "http://slow.invalid/accept";
  const auto notifier = bench.make(web);
  const auto begun = std::chrono::steady_clock::now();
  CHECK(bench.cancelled(*notifier, loss_message(), Span::of_ms(200)));
  CHECK(std::chrono::steady_clock::now() - begun < 1500ms);
  CHECK(holds_within(10s, [] { return slow_lookups_ended() == slow_lookups_begun(); }));
}

TEST_CASE("curl_client: a name that does not exist is a refusal for now") {
  Bench bench(Span::of_s(10));
  auto web = webhook_to(80, "/accept");
  web.webhook.url = "http://nobody.invalid/accept";
  const auto notifier = bench.make(web);
  const Outcome outcome = bench.deliver(*notifier, loss_message());
  CHECK(std::string(shown(outcome.kind)) == "retry_later");
  CHECK(outcome.answer.find("nobody.invalid") != std::string::npos);
}

TEST_CASE("curl_client: forty transfers at once on one loop") {
  Bench bench(Span::of_s(20));
  const auto receiver = http_receiver(bench);
  const auto notifier = bench.make(webhook_to(receiver->port(), "/slow"));
  std::vector<Message> messages;
  for (int i = 0; i < 40; ++i) messages.push_back(loss_message("notice-" + std::to_string(i)));
  const auto attempts = bench.deliver_all(*notifier, messages);
  int delivered = 0;
  for (const auto& outcome : attempts.outcomes) {
    delivered += outcome.kind == Outcome::Kind::delivered ? 1 : 0;
  }
  CHECK(delivered == 40);
  CHECK(attempts.longest_stall < Span::of_ms(800));
}
