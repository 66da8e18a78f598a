#include "ingest/broker_desk.h"

#include "core/invariant.h"
#include "core/limits.h"
#include "crypto/controller_key.h"
#include "ingest/check_in_fields.h"
#include "text/identifier.h"

namespace ebbwatch {
namespace {

const std::string from_broker = "the MQTT broker";
constexpr std::size_t told_most = 4096;  // Controllers whose last log line is remembered.

}  // namespace

TopicPattern::TopicPattern(std::string_view text) {
  const auto place = text.find('+');
  INVARIANT(place != text.npos);
  before_ = text.substr(0, place);
  after_ = text.substr(place + 1);
}

std::optional<std::string_view> TopicPattern::controller_in(std::string_view topic) const {
  if (topic.size() <= before_.size() + after_.size()) return std::nullopt;
  if (!topic.starts_with(before_) || !topic.ends_with(after_)) return std::nullopt;
  topic.remove_prefix(before_.size());
  topic.remove_suffix(after_.size());
  if (topic.find('/') != topic.npos) return std::nullopt;
  return topic;
}

std::optional<TopicPattern> TopicPattern::with_last_level(std::string_view last) const {
  const auto slash = after_.rfind('/');
  if (slash == after_.npos) return std::nullopt;
  TopicPattern out = *this;
  out.after_ = after_.substr(0, slash + 1) + std::string(last);
  return out;
}

BrokerDesk::BrokerDesk(Admission& admission, CheckInSink& sink, Rules rules)
    : admission_(admission),
      sink_(sink),
      rules_(std::move(rules)),
      leaving_(rules_.check_ins.with_last_level("leaving")) {
  if (leaving_ && leaving_->text() == rules_.check_ins.text()) leaving_.reset();
}

void BrokerDesk::take(const BrokerMessage& message, Instant now) {
  if (leaving_) {
    if (const auto left = leaving_->controller_in(message.topic); left && is_identifier(*left)) {
      return take_leaving(std::string(*left), message, now);
    }
  }
  const auto named = rules_.check_ins.controller_in(message.topic);
  if (!named || !is_identifier(*named)) {
    return refuse(counters_.other_topic, 400, "",
                  "The topic " + shown_text(message.topic) + " names no controller. Publish to " +
                      rules_.check_ins.text() + " with the controller's id in place of the +.",
                  now);
  }
  take_check_in(std::string(*named), message, now);
}

void BrokerDesk::take_check_in(const std::string& controller, const BrokerMessage& message,
                               Instant now) {
  const auto refused = [&](std::uint64_t& counter, int status, const std::string& detail) {
    refuse(counter, status, controller, detail, now);
  };
  if (message.retained) {
    return refused(counters_.retained, 400,
                   "The broker had kept this message (retained), so it may be of any age and is no "
                   "contact. Publish check-ins without the retain flag, and clear the kept one.");
  }
  if (message.payload.size() > limits::check_in_body_bytes_max) {
    return refused(counters_.too_long, 413, "The payload is longer than 16 KiB. Send less.");
  }
  if (message.payload.empty()) {
    return refused(counters_.malformed, 400,
                   "The payload is empty, as when a kept message is cleared. Send JSON, {} at "
                   "least.");
  }
  const auto parsed = parse_check_in_json(message.payload);
  if (!parsed) return refused(counters_.malformed, 400, parsed.error().text);
  const auto& key = parsed.value().key;
  if (key ? !admission_.is_key_of(*key, controller) : rules_.require_key) {
    return refused(counters_.wrong_key, 401,
                   key ? "The member key is not this controller's key. Make one with: ebbwatch "
                         "enrol CONTROLLER."
                       : "listen.check_in_mqtt.require_key asks for the controller's key as member "
                         "key of the payload.");
  }
  if (const auto& inner = parsed.value().controller; inner && *inner != controller) {
    return refused(counters_.malformed, 403,
                   "The topic is that of " + controller + ", but the payload says controller " +
                       shown_text(*inner) + ". Leave controller out, or publish to its own topic.");
  }
  if (const auto slow_down = admission_.too_fast(controller, now)) {
    return refused(counters_.too_fast, 429, slow_down->detail);
  }
  const Credential credential{.kind = Credential::Kind::broker, .controller = controller};
  const auto came_of_it = sink_.accept(credential, parsed.value(), from_broker, now);
  if (came_of_it != CheckInAnswer::taken) {
    return refused(counters_.not_taken, 403,
                   came_of_it == CheckInAnswer::unknown_controller
                       ? "It is not in this watcher's configuration. Add it there and reload."
                       : "This watcher cannot take check-ins just now.");
  }
  ++counters_.taken;
}

void BrokerDesk::take_leaving(const std::string& controller, const BrokerMessage& message,
                              Instant now) {
  if (message.retained) {
    ++counters_.retained;  // It says nothing about now.
    return;
  }
  ++counters_.leaving;
  if (rules_.has_left && may_tell(controller + "/leaving", now)) rules_.has_left(controller);
}

void BrokerDesk::refuse(std::uint64_t& counter, int status, const std::string& controller,
                        const std::string& detail, Instant now) {
  ++counter;
  if (may_tell(controller, now)) {
    sink_.refused(status, controller, from_broker, without_keys(detail));
  }
}

bool BrokerDesk::may_tell(const std::string& controller, Instant now) {
  if (told_after_.size() >= told_most) {
    std::erase_if(told_after_, [now](const auto& told) { return told.second <= now; });
  }
  if (told_after_.size() >= told_most) return false;  // Somebody makes names up; all are counted.
  Instant& after = told_after_.try_emplace(controller, now).first->second;
  if (now < after) return false;
  after = now + limits::mqtt_told_every;
  return true;
}

}  // namespace ebbwatch
