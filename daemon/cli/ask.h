// A command to the running daemon whose answer is one sentence.
#pragma once

#include <boost/json/object.hpp>

#include "cli/context.h"

namespace ebbwatch {

/// Sends the request and prints the sentence of its `done`, or with `json` the whole answer. A
/// refusal or a daemon that does not answer goes to standard error, with exit_could_not.
void ask_and_print(Context& context, const boost::json::object& request, bool json);

}  // namespace ebbwatch
