// A Message as JSON and back, for NoticeRow::message_json. Members that Message does not have are
// ignored when reading, so that the desk can keep its own beside them.
#pragma once

#include <boost/json/fwd.hpp>
#include <string>

#include "core/result.h"
#include "ports/notifier.h"

namespace ebbwatch {

std::string message_to_json(const Message& message);
/// Errors: bad_input naming what is wrong.
Result<Message> message_from_json(const std::string& json);

boost::json::object message_to_object(const Message& message);
Result<Message> message_from_object(const boost::json::object& object);

}  // namespace ebbwatch
