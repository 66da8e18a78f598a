// What becomes of a message from an MQTT broker: whose it is, whether it is contact. Pure: the time
// and the sink are given; the connection is the subscriber's (mqtt_subscriber.h).
//
// The topic names the controller. Who may publish to it is the broker's to guard, by its access
// list; where that cannot be relied on, `require_key` asks for the controller's key as member `key`
// of the payload, and a wrong key is refused in any case.
//
// Contact is only a message that the broker passes on as it comes. One that it had kept (retained)
// may be of any age and is refused. `…/leaving`, usually a last will, says that the broker has lost
// the controller: a hint for the log, neither contact nor a loss.
//
// The log hears of refused messages of one controller at most every 10 min.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "core/time.h"
#include "ingest/admission.h"
#include "ingest/check_in_handler.h"

namespace ebbwatch {

/// A topic with one level `+` that stands for the controller.
class TopicPattern {
 public:
  /// @pre one of the levels of `text` is `+`.
  explicit TopicPattern(std::string_view text);
  /// The level in place of `+`; empty: the topic is another.
  std::optional<std::string_view> controller_in(std::string_view topic) const;
  std::string text() const { return before_ + "+" + after_; }
  /// The same with `last` instead of the last level; empty where the last one is `+`.
  std::optional<TopicPattern> with_last_level(std::string_view last) const;

 private:
  std::string before_, after_;
};

struct BrokerMessage {
  std::string topic, payload;
  bool retained = false;
};

struct BrokerCounters {
  std::uint64_t taken = 0;
  std::uint64_t leaving = 0;  ///< Hints that a controller has left.
  std::uint64_t retained = 0;
  std::uint64_t other_topic = 0;  ///< Or no identifier in it.
  std::uint64_t malformed = 0;
  std::uint64_t too_long = 0;
  std::uint64_t wrong_key = 0;  ///< Or none where one is required.
  std::uint64_t too_fast = 0;
  std::uint64_t not_taken = 0;  ///< Not in the configuration, or the watcher stops just now.
};

class BrokerDesk {
 public:
  struct Rules {
    TopicPattern check_ins;
    bool require_key = false;
    /// Told of a hint that this controller has left, at most every 10 min for each.
    std::function<void(const std::string& controller)> has_left;
  };
  /// Both must outlive it.
  BrokerDesk(Admission& admission, CheckInSink& sink, Rules rules);

  void take(const BrokerMessage& message, Instant now);
  const BrokerCounters& counters() const { return counters_; }
  /// Empty: there is none, since the topic of check-ins ends with the controller.
  const std::optional<TopicPattern>& leaving() const { return leaving_; }

 private:
  void take_check_in(const std::string& controller, const BrokerMessage& message, Instant now);
  void take_leaving(const std::string& controller, const BrokerMessage& message, Instant now);
  void refuse(std::uint64_t& counter, int status, const std::string& controller,
              const std::string& detail, Instant now);
  bool may_tell(const std::string& controller, Instant now);

  Admission& admission_;
  CheckInSink& sink_;
  Rules rules_;
  std::optional<TopicPattern> leaving_;
  BrokerCounters counters_;
  std::unordered_map<std::string, Instant> told_after_;  ///< No log line of it before.
};

}  // namespace ebbwatch
