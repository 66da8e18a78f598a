// Notices as text messages through a GSM modem on a serial line: the way out that survives the
// home's internet. Also takes in the texts that people send to its number.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>
#include <string>

#include "core/result.h"
#include "ports/clock.h"
#include "ports/incoming.h"
#include "ports/notifier.h"
#include "settings/settings.h"

namespace ebbwatch {

/// Opens the device at once and again every few seconds while it is missing; a modem that is not
/// there is no error here but the notifier's state(). One text is under way at a time, others wait
/// for their turn within the time limit; while the modem is known to be in trouble they are told so
/// at once. Incoming texts go to `incoming` (may be null) under the notifier's identifier, are
/// deleted from the SIM card afterwards, and a reply, if it gives one, is sent back.
///
/// `clock` and `incoming` must outlive it. Errors: those of read_secret; bad_input for a PIN that
/// is not 4 to 8 digits.
Result<std::unique_ptr<Notifier>> make_gsm_modem_notifier(const NotifierSettings& settings,
                                                          const std::string& configuration_file,
                                                          Clock& clock, IncomingTexts* incoming,
                                                          boost::asio::any_io_executor executor);

}  // namespace ebbwatch
