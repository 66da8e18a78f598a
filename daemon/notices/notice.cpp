#include "notices/notice.h"

#include <algorithm>
#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

#include "notices/member_reader.h"
#include "notices/message_json.h"
#include "notices/story_json.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

json::object desk_object(const Notice& notice) {
  json::array ways;
  for (const std::string& way : notice.other_ways) ways.emplace_back(way);
  return {{"group", notice.group},
          {"occasion", word(notice.occasion)},
          {"language", code(notice.language)},
          {"other_ways", std::move(ways)},
          {"failed_over", notice.failed_over},
          {"held_for", notice.held_for},
          {"bundle", notice.bundle},
          {"due_at_us", notice.delivery.due_at.us},
          {"maybe_arrived", notice.delivery.maybe_arrived},
          {"story", story_to_json(notice.story)}};
}

const json::object* member_object(const json::object& object, const char* key) {
  const json::value* value = object.if_contains(key);
  return value != nullptr && value->is_object() ? &value->get_object() : nullptr;
}

Result<void> read_desk_object(Notice& notice, const json::object& object) {
  MemberReader read(object);
  notice.group = read.text("group");
  notice.occasion =
      read.one_of("occasion", {Occasion::first, Occasion::later_step, Occasion::reminder,
                               Occasion::combined, Occasion::resumed});
  notice.language = first_known_language({read.text_or_empty("language")});
  notice.other_ways = read.texts("other_ways");
  notice.failed_over = read.truth("failed_over");
  notice.held_for = read.text("held_for");
  notice.bundle = read.text_or_empty("bundle");  // Rows of earlier versions have none.
  notice.delivery.due_at = read.wall_time("due_at_us");
  notice.delivery.maybe_arrived = read.truth("maybe_arrived");
  if (!read.ok()) return read.error();
  const json::object* story = member_object(object, "story");
  if (story == nullptr) return Error{Errc::bad_input, "member \"story\" must be an object"};
  Result<Story> read_story = story_from_json(*story);
  if (!read_story) return read_story.error();
  notice.story = std::move(read_story.value());
  return {};
}

std::string kind_word(const Story& story) {
  if (story.drill) return "drill";
  if (story.topic != Topic::decision) return word(story.topic);
  return story.reading ? reading_word(story.kind) : word(story.kind);
}

DeliveryState state_of(const std::string& text) {
  for (DeliveryState state :
       {DeliveryState::delivered, DeliveryState::dead_letter, DeliveryState::withdrawn}) {
    if (text == word(state)) return state;
  }
  return DeliveryState::waiting;
}

}  // namespace

bool is_waiting(const Notice& notice) {
  return notice.delivery.state == DeliveryState::waiting;
}

bool is_bundle(const Notice& notice) {
  return is_bundle(notice.story.topic);
}

bool tells(const Notice& notice, DecisionKind kind) {
  return notice.story.topic == Topic::decision && notice.story.kind == kind;
}

bool is_loss(const Notice& notice) {
  return tells(notice, DecisionKind::loss);
}

bool may_be_known(const Notice& notice) {
  return notice.delivery.state == DeliveryState::delivered || notice.delivery.maybe_arrived;
}

void add_once(std::vector<std::string>& list, const std::string& item) {
  if (std::find(list.begin(), list.end(), item) == list.end()) list.push_back(item);
}

std::vector<std::string> keyholders_of(const std::vector<Notice*>& notices) {
  std::vector<std::string> names;
  for (const Notice* notice : notices) add_once(names, notice->message.keyholder);
  return names;
}

std::vector<Notice*> of_keyholder(const std::vector<Notice*>& notices, const std::string& who) {
  std::vector<Notice*> list;
  for (Notice* notice : notices) {
    if (notice->message.keyholder == who) list.push_back(notice);
  }
  return list;
}

void write_texts(Notice& notice, WallTime now) {
  Texts texts = compose(notice.story, {notice.occasion, now, notice.message.answer_code,
                                       notice.message.answer_link, notice.language});
  Message& message = notice.message;
  message.outage = notice.story.outage;
  message.event_type = event_type(notice.story);
  message.subject_id = notice.story.subject_id;
  message.decided_at = notice.story.at;
  message.subject = std::move(texts.subject);
  message.text = std::move(texts.text);
  message.short_text = std::move(texts.short_text);
  message.data_json = std::move(texts.data_json);
}

NoticeRow to_row(const Notice& notice) {
  NoticeRow row;
  row.notice = notice.message.notice;
  row.outage = notice.outage;
  row.kind = kind_word(notice.story);
  row.keyholder = notice.message.keyholder;
  row.notifier = notice.notifier;
  row.state = word(notice.delivery.state);
  row.attempts = notice.delivery.attempts;
  row.created_at = notice.created_at;
  row.next_attempt_at = notice.delivery.next_attempt_at;
  row.ended_at = notice.delivery.ended_at;
  row.last_answer = notice.delivery.last_answer;
  json::object object = message_to_object(notice.message);
  object["desk"] = desk_object(notice);
  row.message_json = json::serialize(object);
  return row;
}

Result<Notice> from_row(const NoticeRow& row) {
  boost::system::error_code failed;
  const json::value parsed = json::parse(row.message_json, failed);
  if (failed || !parsed.is_object()) return Error{Errc::bad_input, "not a JSON object"};
  Result<Message> message = message_from_object(parsed.get_object());
  if (!message) return message.error();
  const json::object* desk = member_object(parsed.get_object(), "desk");
  if (desk == nullptr) return Error{Errc::bad_input, "member \"desk\" must be an object"};
  Notice notice;
  notice.message = std::move(message.value());
  notice.notifier = row.notifier;
  notice.outage = row.outage;
  notice.created_at = row.created_at;
  notice.delivery.state = state_of(row.state);
  notice.delivery.attempts = row.attempts;
  notice.delivery.next_attempt_at = row.next_attempt_at;
  notice.delivery.ended_at = row.ended_at;
  notice.delivery.last_answer = row.last_answer;
  if (Result<void> read = read_desk_object(notice, *desk); !read) return read.error();
  return notice;
}

}  // namespace ebbwatch
