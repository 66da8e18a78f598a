// Notices as mail, through the owner's own submission server.
#pragma once

#include <memory>
#include <string>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "ports/clock.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// `client` and `clock` must outlive the notifier. `watcher` is shown as the sender's name.
///
/// The Message-ID is <notice@domain of from>, the same at every attempt; a notice that continues
/// another one refers to it, so that mail programs show one thread per outage. The password goes
/// over an encrypted connection: with one, `when_offered` means `required` unless the server is
/// this machine. `never` is taken at its word.
///
/// The servers are tried in order within one attempt: the next one at once when one cannot be
/// reached, is not fit to be used (certificate, encryption, login) or says 4yz. A lost answer after
/// the final dot ends the attempt, since that server may have taken the mail.
///
/// Errors: those of read_secret, and bad_input for a `from` that is no address.
Result<std::unique_ptr<Notifier>> make_email_notifier(const EmailSettings& settings,
                                                      const std::string& configuration_file,
                                                      const std::string& watcher,
                                                      CurlClient& client, Clock& clock);

}  // namespace ebbwatch
