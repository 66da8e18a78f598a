#include "notices/message_json.h"

#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

#include "notices/member_reader.h"

namespace ebbwatch {

namespace json = boost::json;

json::object message_to_object(const Message& message) {
  return {{"notice", message.notice},
          {"outage", message.outage},
          {"event_type", message.event_type},
          {"subject_id", message.subject_id},
          {"keyholder", message.keyholder},
          {"to_name", message.to_name},
          {"to_email", message.to_email},
          {"to_phone", message.to_phone},
          {"subject", message.subject},
          {"text", message.text},
          {"short_text", message.short_text},
          {"data_json", message.data_json},
          {"decided_at_us", message.decided_at.us},
          {"first_notice", message.first_notice},
          {"answer_code", message.answer_code},
          {"answer_link", message.answer_link},
          {"attempt", static_cast<std::int64_t>(message.attempt)}};
}

Result<Message> message_from_object(const json::object& object) {
  MemberReader read(object);
  Message message;
  message.notice = read.text("notice");
  message.outage = read.text("outage");
  message.event_type = read.text("event_type");
  message.subject_id = read.text("subject_id");
  message.keyholder = read.text("keyholder");
  message.to_name = read.text("to_name");
  message.to_email = read.text("to_email");
  message.to_phone = read.text("to_phone");
  message.subject = read.text("subject");
  message.text = read.text("text");
  message.short_text = read.text("short_text");
  message.data_json = read.text("data_json");
  message.decided_at = read.wall_time("decided_at_us");
  message.first_notice = read.text("first_notice");
  message.answer_code = read.text_or_empty("answer_code");
  message.answer_link = read.text_or_empty("answer_link");
  message.attempt = static_cast<std::uint32_t>(read.integer("attempt"));
  if (!read.ok()) return read.error();
  return message;
}

std::string message_to_json(const Message& message) {
  return json::serialize(message_to_object(message));
}

Result<Message> message_from_json(const std::string& text) {
  boost::system::error_code failed;
  const json::value parsed = json::parse(text, failed);
  if (failed || !parsed.is_object()) return Error{Errc::bad_input, "not a JSON object"};
  return message_from_object(parsed.get_object());
}

}  // namespace ebbwatch
