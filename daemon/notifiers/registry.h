// All kinds of notifiers, in the one place that knows them.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/incoming.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What notifiers need of the daemon. All of it must outlive them.
struct NotifierParts {
  CurlClient& client;
  Clock& clock;
  Entropy& entropy;
  boost::asio::any_io_executor executor;  ///< The I/O loop's.
  IncomingTexts* incoming = nullptr;      ///< Where texts from people go; null: nowhere.
};

/// Makes the notifier that the settings describe and reads its secrets. Errors name the notifier:
/// bad_input (settings that cannot work), those of read_secret.
Result<std::unique_ptr<Notifier>> make_notifier(const NotifierSettings& notifier,
                                                const Settings& settings,
                                                const NotifierParts& parts);

}  // namespace ebbwatch
