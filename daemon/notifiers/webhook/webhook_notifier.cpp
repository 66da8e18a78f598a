#include "notifiers/webhook/webhook_notifier.h"

#include <array>
#include <utility>

#include "crypto/digest.h"
#include "notifiers/http_outcome.h"
#include "notifiers/webhook/cloud_event.h"
#include "notifiers/webhook/signed_request.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace {

class WebhookNotifier final : public Notifier {
 public:
  struct Setup {
    std::string url, watcher;
    SignedAddress address;
    std::optional<SigningKey> key;
  };
  WebhookNotifier(Setup setup, CurlClient& client, Clock& clock, Entropy& entropy)
      : setup_(std::move(setup)), client_(client), clock_(clock), entropy_(entropy) {}

  boost::asio::awaitable<Outcome> deliver(Message message) override {
    OutgoingRequest request;
    request.method = OutgoingRequest::Method::post;
    request.url = setup_.url;
    request.body = cloud_event(message, setup_.watcher);
    request.headers = {{"Content-Type", cloud_event_media_type},
                       {"Idempotency-Key", message.notice}};
    std::array<std::uint8_t, 16> random{};
    entropy_.fill(random);
    sign_request(request, setup_.address, setup_.key, clock_.wall_now(), to_base64url(random));
    const Transfer transfer = co_await client_.request(std::move(request));
    co_return http_outcome(transfer, clock_.wall_now());
  }

  boost::asio::awaitable<std::optional<Outcome>> check() override {
    OutgoingRequest request;
    request.url = setup_.url;
    Outcome outcome = co_await reach(client_, std::move(request));
    co_return outcome;
  }

 private:
  Setup setup_;
  CurlClient& client_;
  Clock& clock_;
  Entropy& entropy_;
};

}  // namespace

Result<std::unique_ptr<Notifier>> make_webhook_notifier(const NotifierSettings& settings,
                                                        const std::string& configuration_file,
                                                        const std::string& watcher,
                                                        CurlClient& client, Clock& clock,
                                                        Entropy& entropy) {
  WebhookNotifier::Setup setup;
  setup.url = settings.webhook.url;
  setup.watcher = watcher;
  auto address = read_address(setup.url);
  if (!address) return address.error();
  setup.address = std::move(address.value());
  if (settings.webhook.signing_key.given()) {
    auto key = read_secret(settings.webhook.signing_key, configuration_file);
    if (!key) return key.error();
    setup.key = SigningKey{watcher + "/" + settings.id, std::move(key.value())};
  }
  return std::unique_ptr<Notifier>(
      std::make_unique<WebhookNotifier>(std::move(setup), client, clock, entropy));
}

}  // namespace ebbwatch
