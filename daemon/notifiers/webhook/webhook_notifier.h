// Notices as CloudEvents to an address of the owner's choice.
#pragma once

#include <memory>
#include <string>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// `client`, `clock` and `entropy` must outlive the notifier. The event's id and the
/// Idempotency-Key header are the notice's identifier, the same at every attempt. keyid is
/// `watcher/notifier`, so that one receiver can serve several watchers. Errors: those of
/// read_secret; bad_input for the URL.
Result<std::unique_ptr<Notifier>> make_webhook_notifier(const NotifierSettings& settings,
                                                        const std::string& configuration_file,
                                                        const std::string& watcher,
                                                        CurlClient& client, Clock& clock,
                                                        Entropy& entropy);

}  // namespace ebbwatch
