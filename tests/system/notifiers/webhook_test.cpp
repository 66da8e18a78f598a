// The webhook notifier against tests/counterparts/http_receiver.py, which checks signatures and
// digests with its own code.
#include <doctest/doctest.h>

#include <boost/json/parse.hpp>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

struct Answer {
  Outcome outcome;
  Attempts attempts;
  std::vector<boost::json::value> requests;
};

Answer call(const std::string& path, Span limit = Span::of_s(5)) {
  Bench bench(limit);
  const auto receiver = http_receiver(bench);
  const auto notifier = bench.make(webhook_to(receiver->port(), path));
  Answer answer;
  answer.attempts = bench.deliver_all(*notifier, {loss_message()});
  answer.outcome = answer.attempts.outcomes.front();
  answer.requests = bench.log("http.log");
  return answer;
}

}  // namespace

TEST_CASE("webhook: the receiver's own code verifies signature and digest") {
  Bench bench;
  const auto key = bench.secret("hook.key", "a key of thirty-two bytes or more, in text\n");
  const auto receiver = http_receiver(bench, {"--key-file", bench.path("hook.key")});
  for (const char* path : {"/accept", "/accept/tanks?club=reef&x=%20y", ""}) {
    CAPTURE(path);
    auto settings = webhook_to(receiver->port(), path);
    settings.webhook.signing_key = key;
    const auto notifier = bench.make(settings);
    bench.deliver(*notifier, loss_message());
    const auto entry = bench.log("http.log").back();
    CHECK(text_at(entry, "/why_not") == "");
    CHECK(text_at(entry, "/headers/signature-input").find(R"(keyid="harbour/hook")") !=
          std::string::npos);
  }
}

TEST_CASE("webhook: the receiver's own code refuses another key") {
  Bench bench;
  bench.secret("hook.key", "the key that the receiver has");
  const auto receiver = http_receiver(bench, {"--key-file", bench.path("hook.key")});
  auto settings = webhook_to(receiver->port(), "/accept");
  settings.webhook.signing_key = bench.secret("other.key", "the key that we have");
  const auto notifier = bench.make(settings);
  bench.deliver(*notifier, loss_message());
  CHECK(text_at(bench.log("http.log").back(), "/why_not") == "the signature does not fit");
}

TEST_CASE("webhook: each attempt has a nonce of its own and the same event") {
  Bench bench;
  const auto receiver = http_receiver(bench);
  auto settings = webhook_to(receiver->port(), "/accept");
  settings.webhook.signing_key = bench.secret("hook.key", "some key");
  const auto notifier = bench.make(settings);
  bench.deliver(*notifier, loss_message());
  bench.deliver(*notifier, loss_message());
  const auto entries = bench.log("http.log");
  REQUIRE(entries.size() == 2);
  CHECK(text_at(entries[0], "/headers/signature-input") !=
        text_at(entries[1], "/headers/signature-input"));
  CHECK(text_at(entries[0], "/body") == text_at(entries[1], "/body"));
  CHECK(text_at(entries[0], "/headers/idempotency-key") ==
        text_at(entries[1], "/headers/idempotency-key"));
}

// CloudEvents 1.0, JSON event format and HTTP webhook binding.
TEST_CASE("webhook: what arrives is a CloudEvents event") {
  const Answer answer = call("/accept");
  REQUIRE(answer.requests.size() == 1);
  const auto& request = answer.requests.front();
  CHECK(text_at(request, "/method") == "POST");
  CHECK(text_at(request, "/headers/content-type") == "application/cloudevents+json");
  const auto event = boost::json::parse(text_at(request, "/body"));
  CHECK(text_at(event, "/specversion") == "1.0");
  CHECK(text_at(event, "/id") == loss_message().notice);
  CHECK(text_at(event, "/source") == "urn:ebbwatch:harbour");
  CHECK(text_at(event, "/type") == "ebbwatch.loss");
  CHECK(text_at(event, "/subject") == "lagoon");
  CHECK(text_at(event, "/time") == "2022-02-22T19:22:22.000Z");
  CHECK(text_at(event, "/datacontenttype") == "application/json");
  CHECK(text_at(event, "/data/decision") == "loss");
  CHECK(text_at(event, "/data/name") == "Lagoon reef");
  CHECK(text_at(request, "/headers/idempotency-key") == loss_message().notice);
}

TEST_CASE("webhook: every class of status") {
  for (const char* status : {"200", "201", "202", "204"}) {
    CAPTURE(status);
    CHECK(kind_of(call(std::string("/status/") + status).outcome) == "delivered");
  }
  for (const char* status : {"408", "425", "429", "500", "502", "503", "504"}) {
    CAPTURE(status);
    CHECK(kind_of(call(std::string("/status/") + status).outcome) == "retry_later");
  }
  for (const char* status :
       {"400", "401", "404", "405", "410", "413", "415", "422", "501", "505"}) {
    CAPTURE(status);
    CHECK(kind_of(call(std::string("/status/") + status).outcome) == "rejected_forever");
  }
}

TEST_CASE("webhook: a redirect is not followed") {
  const Answer answer = call("/redirect");
  CHECK(kind_of(answer.outcome) == "rejected_forever");
  CHECK(answer.outcome.answer.find("correct the address") != std::string::npos);
  CHECK(answer.requests.size() == 1);
}

TEST_CASE("webhook: Retry-After is passed on") {
  const Answer answer = call("/later");
  REQUIRE(answer.outcome.retry_after.has_value());
  CHECK(answer.outcome.retry_after->seconds() == 120);
  CHECK(answer.outcome.answer == "HTTP 503: too busy");
}

TEST_CASE("webhook: an answer that is cut off or never comes is unknown") {
  CHECK(kind_of(call("/half").outcome) == "unknown");
  CHECK(kind_of(call("/hang", Span::of_s(1)).outcome) == "unknown");
}

TEST_CASE("webhook: an endless answer is cut, and what its status said counts") {
  const Answer body = call("/endless");
  CHECK(kind_of(body.outcome) == "delivered");
  CHECK(body.outcome.answer.size() <= limits::answer_text_bytes_max);
  CHECK(body.attempts.took < Span::of_s(3));
  const Answer header = call("/endless_header");
  CHECK(kind_of(header.outcome) == "unknown");
  CHECK(header.attempts.took < Span::of_s(3));
}

TEST_CASE("webhook: a certificate that nobody vouches for is refused") {
  Bench bench;
  make_certificates(bench, "IP:127.0.0.1");
  const auto receiver = http_receiver(
      bench, {"--certificate", bench.path("server.pem"), "--key", bench.path("server.key")});
  auto settings = webhook_to(receiver->port(), "");
  settings.webhook.url = "https://127.0.0.1:" + std::to_string(receiver->port()) + "/accept";
  const auto notifier = bench.make(settings);
  const Outcome outcome = bench.deliver(*notifier, loss_message());
  CHECK(kind_of(outcome) == "retry_later");
  CHECK(outcome.answer.find("certificate") != std::string::npos);
  CHECK(bench.log("http.log").empty());
}

TEST_CASE("webhook: a missing key and a wrong address are errors at the start") {
  Bench bench;
  auto settings = webhook_to(1, "/accept");
  settings.webhook.signing_key = {SecretSource::Kind::file, "nowhere.key"};
  CHECK(bench.fault(settings).find("notifier hook: ") == 0);
  CHECK(bench.fault(settings).find("nowhere.key") != std::string::npos);
  settings = webhook_to(1, "");
  settings.webhook.url = "ftp://192.0.2.1/";
  CHECK(bench.fault(settings).find("notifier hook: url") == 0);
}
