// Answers the calls of text message gateways (notifiers/sms_gateway/gateway_door.h): texts from
// people go to the port for them, delivery reports to the dispatcher. The path holds a secret and
// is never logged. Lives on the loop.
#pragma once

#include <functional>
#include <map>
#include <string>

#include "app/delivery_report.h"
#include "core/result.h"
#include "crypto/digest.h"
#include "ingest/rate.h"
#include "ingest/request_handler.h"
#include "notifiers/sms_gateway/gateway_door.h"
#include "ports/clock.h"
#include "ports/incoming.h"
#include "settings/settings.h"

namespace ebbwatch {

class GatewayCalls final : public RequestHandler {
 public:
  /// All must outlive it. @param reported called with final reports only; false when it is to be
  /// said again later. @param stored awaited between what a call brings and the answer to it.
  GatewayCalls(IncomingTexts& texts, const Clock& clock,
               std::function<bool(const DeliveryReport&)> reported,
               std::function<boost::asio::awaitable<void>()> stored = {})
      : texts_(texts), clock_(clock), reported_(std::move(reported)), stored_(std::move(stored)) {}

  /// Reads the secrets. Errors: those of read_door_secret, naming the notifier; what was in force
  /// stays in force.
  Result<void> use(const Settings& settings);

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override;
  /// The same without a coroutine. A text: 200, and as body what may be sent back to its sender. A
  /// report: 204, or 503 with Retry-After for one that came too early. 400 a field is missing; 404
  /// no such door; 405; 429 with Retry-After to senders who try many wrong addresses.
  HttpResponse answer(const HttpRequest& request);

 private:
  struct Door {
    Sha256 secret_hash{};
    GatewayCallSettings settings;
  };
  using Fields = std::map<std::string, std::string>;
  HttpResponse unknown(const HttpRequest& request);
  HttpResponse text(const DoorCall& call, const Door& door, const Fields& fields);
  HttpResponse report(const DoorCall& call, const Door& door, const Fields& fields);

  IncomingTexts& texts_;
  const Clock& clock_;
  std::function<bool(const DeliveryReport&)> reported_;
  std::function<boost::asio::awaitable<void>()> stored_;
  std::map<std::string, Door> doors_;
  WrongCredentials wrong_;
};

}  // namespace ebbwatch
