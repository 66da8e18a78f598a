#include "notices/message_json.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

namespace {

Message sample_message() {
  Message message;
  message.notice = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";
  message.outage = "harbour-17";
  message.event_type = "ebbwatch.loss";
  message.subject_id = "lagoon";
  message.keyholder = "robin";
  message.to_name = "Robin \"R\" \\ Ümlaut";
  message.to_email = "robin@example.net";
  message.to_phone = "+15550100";
  message.subject = "Lagoon reef: no contact since 14:02";
  message.text = "No contact.\n\n- \xF0\x9F\x90\x9F\n";
  message.short_text = "Lagoon {reef}";
  message.data_json = "{\"decision\":\"loss\",\"confidence\":0.85}";
  message.decided_at = WallTime{1'771'768'800'123'456};
  message.first_notice = "017f22e2-79b0-7cc3-98c4-dc0c0c070000";
  message.answer_code = "4271";
  message.answer_link = "https://tanks.example.net/answer/abc";
  message.attempt = 7;
  return message;
}

}  // namespace

TEST_CASE("message: comes back from JSON as it was") {
  const Message message = sample_message();
  const std::string json = message_to_json(message);
  const Result<Message> read = message_from_json(json);
  REQUIRE(read.ok());
  const Message& back = read.value();
  CHECK(back.notice == message.notice);
  CHECK(back.outage == message.outage);
  CHECK(back.event_type == message.event_type);
  CHECK(back.subject_id == message.subject_id);
  CHECK(back.keyholder == message.keyholder);
  CHECK(back.to_name == message.to_name);
  CHECK(back.to_email == message.to_email);
  CHECK(back.to_phone == message.to_phone);
  CHECK(back.subject == message.subject);
  CHECK(back.text == message.text);
  CHECK(back.short_text == message.short_text);
  CHECK(back.data_json == message.data_json);
  CHECK(back.decided_at.us == message.decided_at.us);
  CHECK(back.first_notice == message.first_notice);
  CHECK(back.answer_code == message.answer_code);
  CHECK(back.answer_link == message.answer_link);
  CHECK(back.attempt == message.attempt);
  CHECK(message_to_json(back) == json);
}

TEST_CASE(
    "message: JSON that is cut off, of another kind or incomplete is an error that says what") {
  const std::string json = message_to_json(sample_message());
  for (std::size_t length = 0; length < json.size(); ++length) {
    CHECK_FALSE(message_from_json(json.substr(0, length)).ok());
  }
  CHECK_FALSE(message_from_json("[]").ok());
  const Result<Message> missing = message_from_json("{\"notice\":\"x\",\"outage\":5}");
  REQUIRE_FALSE(missing.ok());
  CHECK(missing.error().text == "member \"outage\" must be a text");
}
