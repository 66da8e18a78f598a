// All kinds of notifiers, in the one place that knows them.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>

#include "core/result.h"
#include "notifiers/curl_client.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Makes the notifier that the settings describe and reads its secrets. `client`, `clock` and
/// `entropy` must outlive it; it runs on `executor`, the I/O loop's.
/// Errors name the notifier: bad_input (settings that cannot work), those of read_secret, refused
/// (a kind that this build does not have).
Result<std::unique_ptr<Notifier>> make_notifier(const NotifierSettings& notifier,
                                                const Settings& settings, CurlClient& client,
                                                Clock& clock, Entropy& entropy,
                                                boost::asio::any_io_executor executor);

}  // namespace ebbwatch
