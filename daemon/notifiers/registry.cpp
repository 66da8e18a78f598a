#include "notifiers/registry.h"

#include "notifiers/email/email_notifier.h"
#include "notifiers/program/program_notifier.h"
#include "notifiers/sms_gateway/sms_gateway_notifier.h"
#include "notifiers/webhook/webhook_notifier.h"

namespace ebbwatch {
namespace {

Result<std::unique_ptr<Notifier>> make_kind(const NotifierSettings& notifier,
                                            const Settings& settings, CurlClient& client,
                                            Clock& clock, Entropy& entropy) {
  const std::string& watcher = settings.watcher.name;
  switch (notifier.kind) {
    case NotifierKind::email:
      return make_email_notifier(notifier.email, settings.file, watcher, client, clock);
    case NotifierKind::webhook:
      return make_webhook_notifier(notifier, settings.file, watcher, client, clock, entropy);
    case NotifierKind::sms_gateway:
      return make_sms_gateway_notifier(notifier.sms_gateway, settings.file, client, clock);
    case NotifierKind::program:
      return make_program_notifier(notifier.program);
    case NotifierKind::gsm_modem:
      break;
  }
  return Error{Errc::refused, "kind gsm_modem is not part of this build"};
}

}  // namespace

Result<std::unique_ptr<Notifier>> make_notifier(const NotifierSettings& notifier,
                                                const Settings& settings, CurlClient& client,
                                                Clock& clock, Entropy& entropy,
                                                boost::asio::any_io_executor) {
  auto made = make_kind(notifier, settings, client, clock, entropy);
  if (made) return made;
  return Error{made.error().code, "notifier " + notifier.id + ": " + made.error().text};
}

}  // namespace ebbwatch
