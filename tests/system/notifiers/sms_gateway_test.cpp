// The SMS gateway notifier against tests/counterparts/http_receiver.py: templates and answers.
#include <doctest/doctest.h>

#include <boost/json/parse.hpp>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

// A receiver with everything that a notifier for it needs.
struct Gateway {
  Bench bench{Span::of_s(5)};
  std::unique_ptr<Counterpart> receiver = http_receiver(bench);
  NotifierSettings settings = sms_gateway_to(receiver->port(), "/accept");

  Outcome send(const Message& message = loss_message()) {
    const auto notifier = bench.make(settings);
    return bench.deliver(*notifier, message);
  }
  void path(const std::string& path) {
    settings.sms_gateway.url = sms_gateway_to(receiver->port(), path).sms_gateway.url;
  }
  boost::json::value last() const { return bench.log("http.log").back(); }
};

Message awkward_message() {
  Message message = loss_message();
  message.short_text = "50% of A&B = C+D? \"é\" #1 {phone}";
  return message;
}

}  // namespace

TEST_CASE("sms_gateway: a GET carries every field, whatever the text holds") {
  Gateway gateway;
  CHECK(kind_of(gateway.send(awkward_message())) == "delivered");
  const auto request = gateway.last();
  CHECK(text_at(request, "/method") == "GET");
  CHECK(text_at(request, "/query/to/0") == "+15550100");
  CHECK(text_at(request, "/query/text/0") == awkward_message().short_text);
  CHECK(text_at(request, "/query/id/0") == awkward_message().notice);
}

TEST_CASE("sms_gateway: a form carries every field") {
  Gateway gateway;
  gateway.settings.sms_gateway.method = SmsGatewaySettings::Method::post;
  CHECK(kind_of(gateway.send(awkward_message())) == "delivered");
  const auto request = gateway.last();
  CHECK(text_at(request, "/headers/content-type") == "application/x-www-form-urlencoded");
  CHECK(text_at(request, "/body").find("to=%2B15550100&text=50%25%20of%20A%26B") == 0);
}

TEST_CASE("sms_gateway: JSON carries every field, with the secret in a header") {
  Gateway gateway;
  auto& sms = gateway.settings.sms_gateway;
  sms.method = SmsGatewaySettings::Method::post;
  sms.body = SmsGatewaySettings::Body::json;
  sms.headers = {{"Authorization", "Bearer {secret}"}};
  sms.secret = gateway.bench.secret("sms.secret", "open sesame\n");
  CHECK(kind_of(gateway.send(awkward_message())) == "delivered");
  const auto request = gateway.last();
  CHECK(text_at(request, "/headers/content-type") == "application/json");
  CHECK(text_at(request, "/headers/authorization") == "Bearer open sesame");
  const auto body = boost::json::parse(text_at(request, "/body"));
  CHECK(text_at(body, "/text") == awkward_message().short_text);
  CHECK(text_at(body, "/to") == "+15550100");
}

TEST_CASE("sms_gateway: a text that got past its maker is still made safe for the alphabet") {
  Gateway gateway;
  Message message = loss_message();
  message.short_text = "Lagoon “reef” 26 °C – out";
  gateway.send(message);
  CHECK(text_at(gateway.last(), "/query/text/0") == "Lagoon \"reef\" 26 C - out");
}

TEST_CASE("sms_gateway: gateways that say 200 to everything are judged by their words") {
  Gateway gateway;
  gateway.settings.sms_gateway.success = "^OK: [0-9]+";
  gateway.path("/say/OK:%2017");
  CHECK(kind_of(gateway.send()) == "delivered");
  gateway.path("/say/ERR:%20no%20credit");
  const Outcome outcome = gateway.send();
  CHECK(kind_of(outcome) == "retry_later");
  CHECK(outcome.answer == "HTTP 200: ERR: no credit");
}

TEST_CASE("sms_gateway: only the accepted statuses are taken for success") {
  Gateway gateway;
  gateway.settings.sms_gateway.accepted_status = {202};
  gateway.path("/status/202");
  CHECK(kind_of(gateway.send()) == "delivered");
  gateway.path("/status/200");
  CHECK(kind_of(gateway.send()) == "rejected_forever");
  gateway.path("/status/503");
  CHECK(kind_of(gateway.send()) == "retry_later");
}

TEST_CASE("sms_gateway: a secret that the gateway repeats is not passed on") {
  Gateway gateway;
  gateway.path("/echo");
  gateway.settings.sms_gateway.fields.emplace_back("password", "{secret}");
  gateway.settings.sms_gateway.secret = gateway.bench.secret("sms.secret", "open+sesame");
  const Outcome outcome = gateway.send();
  CHECK(kind_of(outcome) == "rejected_forever");
  CHECK(outcome.answer.find("password=(secret)") != std::string::npos);
  CHECK(outcome.answer.find("sesame") == std::string::npos);
}

TEST_CASE("sms_gateway: a keyholder without a telephone is no reason to call") {
  Gateway gateway;
  Message message = loss_message();
  message.to_phone.clear();
  CHECK(kind_of(gateway.send(message)) == "rejected_forever");
  CHECK(gateway.bench.log("http.log").empty());
}

TEST_CASE("sms_gateway: misspelt placeholders and bad expressions are errors at the start") {
  Bench bench;
  auto settings = sms_gateway_to(1, "/");
  settings.sms_gateway.fields.emplace_back("number", "{fone}");
  CHECK(bench.fault(settings).find("fields.number: {fone} is unknown") != std::string::npos);
  settings = sms_gateway_to(1, "/");
  settings.sms_gateway.success = "(unclosed";
  CHECK(bench.fault(settings).find("notifier text: success") == 0);
}
