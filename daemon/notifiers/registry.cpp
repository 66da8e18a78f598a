#include "notifiers/registry.h"

#include "core/invariant.h"
#include "notifiers/email/email_notifier.h"
#include "notifiers/gsm_modem/gsm_modem_notifier.h"
#include "notifiers/program/program_notifier.h"
#include "notifiers/sms_gateway/sms_gateway_notifier.h"
#include "notifiers/webhook/webhook_notifier.h"

namespace ebbwatch {
namespace {

Result<std::unique_ptr<Notifier>> make_kind(const NotifierSettings& notifier,
                                            const Settings& settings, const NotifierParts& parts) {
  auto& [client, clock, entropy, executor, incoming] = parts;
  const std::string& watcher = settings.watcher.name;
  switch (notifier.kind) {
    case NotifierKind::email:
      return make_email_notifier(notifier.email, settings.file, watcher, client, clock);
    case NotifierKind::webhook:
      return make_webhook_notifier(notifier, settings.file, watcher, client, clock, entropy);
    case NotifierKind::sms_gateway:
      return make_sms_gateway_notifier(notifier, settings, client, clock);
    case NotifierKind::program:
      return make_program_notifier(notifier.program);
    case NotifierKind::gsm_modem:
      return make_gsm_modem_notifier(notifier, settings.file, clock, incoming, executor);
  }
  INVARIANT(false);
  return Error{Errc::bad_input, "unknown kind"};
}

}  // namespace

Result<std::unique_ptr<Notifier>> make_notifier(const NotifierSettings& notifier,
                                                const Settings& settings,
                                                const NotifierParts& parts) {
  auto made = make_kind(notifier, settings, parts);
  if (made) return made;
  return Error{made.error().code, "notifier " + notifier.id + ": " + made.error().text};
}

}  // namespace ebbwatch
