#include "notices/story_json.h"

#include <boost/json/array.hpp>

#include "notices/member_reader.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

json::array array_of(const std::vector<std::string>& texts) {
  json::array list;
  for (const std::string& text : texts) list.emplace_back(text);
  return list;
}

json::array array_of(const std::vector<NewsLine>& news) {
  json::array list;
  for (const NewsLine& line : news) {
    list.push_back(json::object{
        {"kind", static_cast<std::int64_t>(line.kind)}, {"text", line.text}, {"link", line.link}});
  }
  return list;
}

std::vector<NewsLine> news_of(const json::object& object) {
  std::vector<NewsLine> news;
  const json::value* list = object.if_contains("news");
  if (list == nullptr || !list->is_array()) return news;
  for (const json::value& one : list->get_array()) {
    if (!one.is_object()) continue;
    MemberReader read(one.get_object());
    const std::int64_t kind = read.integer("kind");
    NewsLine line;
    line.kind = kind == 0 ? NewsLine::Kind::lost : kind == 1 ? NewsLine::Kind::back : line.kind;
    line.text = read.text("text");
    line.link = read.text("link");
    if (read.ok()) news.push_back(std::move(line));
  }
  return news;
}

template <class T>
json::value microseconds(const std::optional<T>& time) {
  return time ? json::value(time->us) : json::value(nullptr);
}

json::array translations_of(const Story& story) {
  json::array list;
  for (const Translation& one : story.translations) {
    list.push_back(json::object{{"language", code(one.language)},
                                {"evidence", array_of(one.evidence)},
                                {"last_reading", one.last_reading},
                                {"time_left", one.time_left}});
  }
  return list;
}

// Rows of earlier versions have none; of a language that a later version brought nothing is known.
std::vector<Translation> translations_from(const json::object& object) {
  std::vector<Translation> all;
  const json::value* list = object.if_contains("translations");
  if (list == nullptr || !list->is_array()) return all;
  for (const json::value& item : list->get_array()) {
    if (!item.is_object()) continue;
    MemberReader read(item.get_object());
    const auto language = known_language(read.text("language"));
    if (!language) continue;
    Translation one{*language, read.texts("evidence"), read.text("last_reading"),
                    read.text("time_left")};
    if (read.ok()) all.push_back(std::move(one));
  }
  return all;
}

json::value reading_of(const Story& story) {
  if (!story.reading) return nullptr;
  const ReadingNews& it = *story.reading;
  return json::object{{"name", it.name},
                      {"controller", it.controller},
                      {"state", word(it.state)},
                      {"value", it.value ? json::value(*it.value) : json::value(nullptr)},
                      {"bound", it.bound}};
}

// Rows of earlier versions have none.
Result<void> read_reading(Story& story, const json::object& object) {
  const json::value* found = object.if_contains("reading");
  if (found == nullptr || !found->is_object()) return {};
  MemberReader read(found->get_object());
  ReadingNews it;
  it.name = read.text("name");
  it.controller = read.text("controller");
  it.state = read.one_of(
      "state", {ReadingState::low, ReadingState::high, ReadingState::below_usual,
                ReadingState::above_usual, ReadingState::unchanged, ReadingState::missing});
  const json::value* value = found->get_object().if_contains("value");
  if (value != nullptr && value->is_number()) it.value = value->to_number<double>();
  it.bound = read.number("bound");
  if (!read.ok()) return read.error();
  story.reading = std::move(it);
  return {};
}

}  // namespace

json::object story_to_json(const Story& story) {
  return {{"topic", word(story.topic)},
          {"kind", word(story.kind)},
          {"drill", story.drill},
          {"watcher", story.watcher},
          {"outage", story.outage},
          {"scope", word(story.scope)},
          {"subject_id", story.subject_id},
          {"name", story.name},
          {"place", story.place},
          {"covered", array_of(story.covered)},
          {"at_us", story.at.us},
          {"since_us", story.since.us},
          {"lost_at_us", microseconds(story.lost_at)},
          {"gone_for_us", microseconds(story.gone_for)},
          {"cause", word(story.cause)},
          {"confidence", story.confidence},
          {"evidence", array_of(story.evidence)},
          {"last_reading", story.last_reading},
          {"last_reading_from", story.last_reading_from},
          {"last_reading_at_us", microseconds(story.last_reading_at)},
          {"time_left", story.time_left},
          {"translations", translations_of(story)},
          {"reading", reading_of(story)},
          {"instructions", story.instructions},
          {"decision_json", story.decision_json},
          {"taken_by", story.taken_by},
          {"taken_at_us", microseconds(story.taken_at)},
          {"taken_until_us", microseconds(story.taken_until)},
          {"news", array_of(story.news)},
          {"remark", story.remark},
          {"unreached", story.unreached},
          {"unreached_by", story.unreached_by}};
}

Result<Story> story_from_json(const json::object& object) {
  MemberReader read(object);
  Story story;
  story.kind =
      read.one_of("kind", {DecisionKind::loss, DecisionKind::recovery, DecisionKind::cause_revised,
                           DecisionKind::watch_gap, DecisionKind::unsteady, DecisionKind::steady});
  story.drill = read.truth("drill");
  story.watcher = read.text("watcher");
  story.outage = read.text("outage");
  story.scope = read.one_of("scope", {Scope::controller, Scope::tank, Scope::site, Scope::area,
                                      Scope::provider, Scope::watcher});
  story.subject_id = read.text("subject_id");
  story.name = read.text("name");
  story.place = read.text("place");
  story.covered = read.texts("covered");
  story.at = read.wall_time("at_us");
  story.since = read.wall_time("since_us");
  story.lost_at = read.maybe_wall_time("lost_at_us");
  story.gone_for = read.maybe_span("gone_for_us");
  story.cause = read.one_of("cause", {Cause::undetermined, Cause::mains_power, Cause::internet,
                                      Cause::controller, Cause::watcher_uplink});
  story.confidence = read.number("confidence");
  story.evidence = read.texts("evidence");
  story.last_reading = read.text("last_reading");
  story.last_reading_from = read.text("last_reading_from");
  story.last_reading_at = read.maybe_wall_time("last_reading_at_us");
  // Notices stored by an earlier version have none.
  if (object.contains("time_left")) story.time_left = read.text("time_left");
  story.instructions = read.text("instructions");
  story.decision_json = read.text("decision_json");
  // Rows of earlier versions have none of these.
  if (object.contains("topic")) {
    story.topic = read.one_of(
        "topic", {Topic::decision, Topic::taken_on, Topic::undelivered, Topic::store_failing,
                  Topic::store_working, Topic::notifier_failing, Topic::notifier_working,
                  Topic::unproven, Topic::summary, Topic::digest});
  }
  story.taken_by = read.text_or_empty("taken_by");
  story.taken_at = read.maybe_wall_time("taken_at_us");
  story.taken_until = read.maybe_wall_time("taken_until_us");
  story.remark = read.text_or_empty("remark");
  story.unreached = read.text_or_empty("unreached");
  story.unreached_by = read.text_or_empty("unreached_by");
  story.translations = translations_from(object);
  story.news = news_of(object);
  if (!read.ok()) return read.error();
  if (const auto done = read_reading(story, object); !done) return done.error();
  return story;
}

}  // namespace ebbwatch
