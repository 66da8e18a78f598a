#include "witness/message.h"

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <cmath>

#include "text/identifier.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;
namespace most = witness_limits;

constexpr double age_s_max = 10 * 365.0 * 86400;

double seconds(Span span) {
  return std::round(span.seconds() * 1000) / 1000;
}

json::array words_json(const std::vector<WitnessMessage::Word>& words) {
  json::array out;
  for (const auto& word : words) {
    json::value age = nullptr;
    if (word.age) age = seconds(*word.age);
    out.push_back(json::array{word.controller, age});
  }
  return out;
}

json::object outage_json(const SharedOutage& view) {
  json::object out;
  out["name"] = view.name;
  out["place"] = view.place;
  out["lasts_s"] = seconds(view.lasts);
  out["told"] = view.told;
  out["closed"] = view.closed;
  if (!view.delivered.empty()) {
    out["delivered"] = json::array(view.delivered.begin(), view.delivered.end());
  }
  if (!view.taken_by.empty()) {
    out["taken_by"] = view.taken_by;
    out["taken_since_s"] = seconds(view.taken_since);
  }
  if (view.put_away_for) out["put_away_for_s"] = seconds(*view.put_away_for);
  return out;
}

/// Reads members and keeps the first fault.
class Taker {
 public:
  explicit Taker(const json::object& from) : from_(from) {}

  const std::string& fault() const { return fault_; }
  void wrong(std::string_view key, std::string_view wanted) {
    if (fault_.empty()) fault_ = std::string(key) + ": " + std::string(wanted);
  }

  void text(std::string_view key, std::string& out) {
    const json::value* found = from_.if_contains(key);
    if (found == nullptr) return;
    if (!is_text(*found)) return wrong(key, "a text of at most 160 characters");
    out = std::string(found->get_string());
  }
  void name(std::string_view key, std::string& out) {
    text(key, out);
    if (!is_identifier(out)) wrong(key, "an identifier");
  }
  void truth(std::string_view key, bool& out) {
    const json::value* found = from_.if_contains(key);
    if (found == nullptr) return;
    if (!found->is_bool()) return wrong(key, "true or false");
    out = found->get_bool();
  }
  void span(std::string_view key, Span& out) {
    const json::value* found = from_.if_contains(key);
    if (found == nullptr) return;
    const auto read = age(*found);
    if (!read) return wrong(key, "seconds, from 0 to ten years");
    out = *read;
  }
  const json::array* list(std::string_view key, std::size_t most_items) {
    const json::value* found = from_.if_contains(key);
    if (found == nullptr) return nullptr;
    if (!found->is_array() || found->get_array().size() > most_items) {
      wrong(key, "a list of at most " + std::to_string(most_items));
      return nullptr;
    }
    return &found->get_array();
  }
  void texts(std::string_view key, std::size_t most_items, bool identifiers,
             std::vector<std::string>& out) {
    const json::array* items = list(key, most_items);
    if (items == nullptr) return;
    for (const json::value& item : *items) {
      if (!is_text(item)) return wrong(key, "texts of at most 160 characters");
      out.emplace_back(item.get_string());
      if (identifiers && !is_identifier(out.back())) return wrong(key, "identifiers");
    }
  }
  void words(std::string_view key, std::vector<WitnessMessage::Word>& out) {
    const json::array* items = list(key, most::subjects_max);
    if (items == nullptr) return;
    for (const json::value& item : *items) {
      const json::array* pair = item.if_array();
      if (pair == nullptr || pair->size() != 2 || !is_text((*pair)[0])) {
        return wrong(key, "pairs of controller and seconds");
      }
      WitnessMessage::Word word{std::string((*pair)[0].get_string()), {}};
      if (!is_identifier(word.controller)) return wrong(key, "identifiers");
      if (!(*pair)[1].is_null()) {
        word.age = age((*pair)[1]);
        if (!word.age) return wrong(key, "seconds, from 0 to ten years, or null");
      }
      out.push_back(std::move(word));
    }
  }

 private:
  static bool is_text(const json::value& value) {
    return value.is_string() && value.get_string().size() <= most::text_chars_max &&
           is_utf8(std::string_view(value.get_string()));
  }
  static std::optional<Span> age(const json::value& value) {
    boost::system::error_code failed;
    const double s = value.is_number() ? value.to_number<double>(failed) : -1;
    if (failed || !(s >= 0 && s <= age_s_max)) return std::nullopt;
    return Span::of_seconds(s);
  }

  const json::object& from_;
  std::string fault_;
};

Result<SharedOutage> outage_from(const json::value& value) {
  const json::object* object = value.if_object();
  if (object == nullptr) return Error{Errc::bad_input, "outages: objects"};
  Taker take(*object);
  SharedOutage view;
  take.name("name", view.name);
  take.name("place", view.place);
  take.span("lasts_s", view.lasts);
  take.truth("told", view.told);
  take.truth("closed", view.closed);
  take.texts("delivered", most::delivered_max, false, view.delivered);
  take.text("taken_by", view.taken_by);
  take.span("taken_since_s", view.taken_since);
  if (object->contains("put_away_for_s")) {
    Span rest;
    take.span("put_away_for_s", rest);
    view.put_away_for = rest;
  }
  if (!take.fault().empty()) return Error{Errc::bad_input, "outages: " + take.fault()};
  return view;
}

Result<WitnessMessage> message_from(const json::object& object) {
  Taker take(object);
  WitnessMessage message;
  Span version, in_all;
  take.span("version", version);
  if (version != Span::of_s(1)) take.wrong("version", "1");
  take.name("from", message.from);
  take.name("to", message.to);
  take.truth("link", message.link_works);
  take.span("every_s", message.every);
  take.text("next", message.next);
  take.texts("ask", most::subjects_max, true, message.ask);
  take.words("words", message.words);
  take.words("relayed", message.relayed);
  take.texts("duties", most::duties_max, false, message.duties);
  take.span("duties_in_all", in_all);
  message.duties_in_all = static_cast<std::uint32_t>(in_all.seconds());
  if (const json::array* outages = take.list("outages", most::outages_max)) {
    for (const json::value& item : *outages) {
      auto view = outage_from(item);
      if (!view) return view.error();
      message.outages.push_back(std::move(view.value()));
    }
  }
  if (!take.fault().empty()) return Error{Errc::bad_input, take.fault()};
  return message;
}

}  // namespace

std::string encode(const WitnessMessage& message) {
  json::object out;
  out["version"] = 1;
  out["from"] = message.from;
  out["to"] = message.to;
  out["link"] = message.link_works;
  if (seconds(message.every) > 0) out["every_s"] = seconds(message.every);
  if (!message.next.empty()) out["next"] = message.next;
  if (!message.ask.empty()) out["ask"] = json::array(message.ask.begin(), message.ask.end());
  if (!message.words.empty()) out["words"] = words_json(message.words);
  if (!message.relayed.empty()) out["relayed"] = words_json(message.relayed);
  if (!message.duties.empty()) {
    out["duties"] = json::array(message.duties.begin(), message.duties.end());
    out["duties_in_all"] = message.duties_in_all;
  }
  if (!message.outages.empty()) {
    json::array outages;
    for (const SharedOutage& view : message.outages) outages.push_back(outage_json(view));
    out["outages"] = std::move(outages);
  }
  return json::serialize(out);
}

Result<WitnessMessage> decode(std::string_view text) {
  if (text.size() > most::message_bytes_max) {
    return Error{Errc::bad_input, "longer than 16 KiB"};
  }
  json::parse_options options;
  options.max_depth = 8;
  boost::system::error_code failed;
  const json::value parsed = json::parse(text, failed, {}, options);
  if (failed || !parsed.is_object()) return Error{Errc::bad_input, "not a JSON object"};
  return message_from(parsed.get_object());
}

}  // namespace ebbwatch
