#include "notifiers/sms_gateway/sms_gateway_notifier.h"

#include <algorithm>
#include <utility>

#include "notifiers/answer_text.h"
#include "notifiers/http_outcome.h"
#include "notifiers/sms_gateway/gateway_door.h"
#include "notifiers/sms_gateway/request_template.h"
#include "settings/secrets.h"
#include "text/gsm7.h"

namespace ebbwatch {
namespace {

class SmsGatewayNotifier final : public Notifier {
 public:
  struct Parts {
    SmsGatewaySettings settings;
    SuccessPattern success;
    std::string secret;
    std::string door;  ///< Address for the gateway's calls; empty: it makes none.
    std::vector<std::string> secrets;
  };
  SmsGatewayNotifier(Parts parts, CurlClient& client, Clock& clock)
      : parts_(std::move(parts)), client_(client), clock_(clock) {}

  boost::asio::awaitable<Outcome> deliver(Message message) override {
    if (message.to_phone.empty()) {
      co_return Outcome{Outcome::Kind::rejected_forever,
                        message.keyholder + " has no telephone number", std::nullopt};
    }
    const TemplateValues values{message.to_phone, to_gsm7(message.short_text), parts_.secret,
                                message.notice, report_address(parts_.door, message.notice)};
    OutgoingRequest request = fill_template(parts_.settings, values);
    const Transfer transfer = co_await client_.request(std::move(request));
    co_return gateway_outcome(parts_.settings, parts_.success, transfer, clock_.wall_now(),
                              parts_.secrets);
  }

  boost::asio::awaitable<std::optional<Outcome>> check() override {
    const TemplateValues nobody;  // Named: g++ 12 frees such a temporary of a coroutine twice.
    OutgoingRequest request = fill_template(parts_.settings, nobody);
    Outcome outcome = co_await reach(client_, std::move(request));
    co_return outcome;
  }

 private:
  Parts parts_;
  CurlClient& client_;
  Clock& clock_;
};

}  // namespace

Outcome gateway_outcome(const SmsGatewaySettings& settings, const SuccessPattern& success,
                        const Transfer& transfer, WallTime now,
                        const std::vector<std::string>& secrets) {
  Transfer told = transfer;  // Some gateways show the request again when they do not like it.
  for (const std::string& secret : secrets) {
    told.answer = without_secret(without_secret(told.answer, secret), percent_encoded(secret));
  }
  Outcome outcome = http_outcome(told, now);
  if (transfer.end != Transfer::End::answered) return outcome;
  const auto& accepted = settings.accepted_status;
  if (std::find(accepted.begin(), accepted.end(), transfer.status) == accepted.end()) {
    if (outcome.kind == Outcome::Kind::delivered) outcome.kind = Outcome::Kind::rejected_forever;
    return outcome;
  }
  outcome.kind =
      success.matches(transfer.answer) ? Outcome::Kind::delivered : Outcome::Kind::retry_later;
  return outcome;
}

Result<std::unique_ptr<Notifier>> make_sms_gateway_notifier(const NotifierSettings& notifier,
                                                            const Settings& settings,
                                                            CurlClient& client, Clock& clock) {
  SmsGatewayNotifier::Parts parts;
  parts.settings = notifier.sms_gateway;
  if (const auto checked = check_template(parts.settings); !checked) return checked.error();
  auto success = SuccessPattern::compile(parts.settings.success);
  if (!success) return success.error();
  parts.success = std::move(success.value());
  if (parts.settings.secret.given()) {
    auto read = read_secret(parts.settings.secret, settings.file);
    if (!read) return read.error();
    parts.secret = std::move(read.value());
    parts.secrets.push_back(parts.secret);
  }
  if (parts.settings.calls) {
    auto read = read_door_secret(*parts.settings.calls, settings.file);
    if (!read) return read.error();
    const std::string& own = parts.settings.calls->url;
    parts.door =
        door_address(own.empty() ? settings.listen.public_url : own, notifier.id, read.value());
    parts.secrets.push_back(std::move(read.value()));
  }
  return std::unique_ptr<Notifier>(
      std::make_unique<SmsGatewayNotifier>(std::move(parts), client, clock));
}

}  // namespace ebbwatch
