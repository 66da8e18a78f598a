#include "notifiers/sms_gateway/sms_gateway_notifier.h"

#include <algorithm>
#include <utility>

#include "notifiers/answer_text.h"
#include "notifiers/http_outcome.h"
#include "notifiers/sms_gateway/request_template.h"
#include "settings/secrets.h"
#include "text/gsm7.h"

namespace ebbwatch {
namespace {

class SmsGatewayNotifier final : public Notifier {
 public:
  SmsGatewayNotifier(SmsGatewaySettings settings, SuccessPattern success, std::string secret,
                     CurlClient& client, Clock& clock)
      : settings_(std::move(settings)),
        success_(std::move(success)),
        secret_(std::move(secret)),
        client_(client),
        clock_(clock) {}

  boost::asio::awaitable<Outcome> deliver(Message message) override {
    if (message.to_phone.empty()) {
      co_return Outcome{Outcome::Kind::rejected_forever,
                        message.keyholder + " has no telephone number", std::nullopt};
    }
    const TemplateValues values{message.to_phone, to_gsm7(message.short_text), secret_,
                                message.notice};
    const Transfer transfer = co_await client_.request(fill_template(settings_, values));
    co_return gateway_outcome(settings_, success_, transfer, clock_.wall_now(), secret_);
  }

  boost::asio::awaitable<std::optional<Outcome>> check() override {
    const TemplateValues nobody;  // Named: g++ 12 frees such a temporary of a coroutine twice.
    OutgoingRequest request = fill_template(settings_, nobody);
    Outcome outcome = co_await reach(client_, std::move(request));
    co_return outcome;
  }

 private:
  SmsGatewaySettings settings_;
  SuccessPattern success_;
  std::string secret_;
  CurlClient& client_;
  Clock& clock_;
};

}  // namespace

Outcome gateway_outcome(const SmsGatewaySettings& settings, const SuccessPattern& success,
                        const Transfer& transfer, WallTime now, const std::string& secret) {
  Transfer told = transfer;  // Some gateways show the request again when they do not like it.
  told.answer = without_secret(without_secret(told.answer, secret), percent_encoded(secret));
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

Result<std::unique_ptr<Notifier>> make_sms_gateway_notifier(const SmsGatewaySettings& settings,
                                                            const std::string& configuration_file,
                                                            CurlClient& client, Clock& clock) {
  if (const auto checked = check_template(settings); !checked) return checked.error();
  auto success = SuccessPattern::compile(settings.success);
  if (!success) return success.error();
  std::string secret;
  if (settings.secret.given()) {
    auto read = read_secret(settings.secret, configuration_file);
    if (!read) return read.error();
    secret = std::move(read.value());
  }
  return std::unique_ptr<Notifier>(std::make_unique<SmsGatewayNotifier>(
      settings, std::move(success.value()), std::move(secret), client, clock));
}

}  // namespace ebbwatch
