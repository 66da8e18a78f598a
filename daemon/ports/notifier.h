// The plugin interface: one class per way of carrying a notice. See DEVELOPERS.md, "Add a
// notifier".
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

/// One notice to one person through one notifier, with every text ready.
struct Message {
  std::string notice;      ///< UUIDv7; the same at every attempt, so receivers can drop repeats.
  std::string outage;      ///< "harbour-17"
  std::string event_type;  ///< "ebbwatch.loss", "ebbwatch.recovery", … (FORMATS, webhook)
  std::string subject_id;  ///< Identifier of what it is about.
  std::string keyholder;   ///< Identifier of who is told.
  std::string to_name, to_email, to_phone;  ///< Empty where the keyholder has none.
  std::string subject;                      ///< Subject line, UTF-8, one line.
  std::string text;        ///< The whole notice, UTF-8, LF, lines of at most 78 columns.
  std::string html{};      ///< The same as a page, for mails; mostly empty.
  std::string short_text;  ///< At most 160 septets of the GSM 7-bit default alphabet, as UTF-8.
  std::string data_json;   ///< The decision as JSON plus `name`, `at`, `text`.
  WallTime decided_at;
  std::string first_notice;  ///< Loss notice that this one continues (mail threads); empty: itself.
  std::string answer_code;   ///< Four digits: "OK 4271" in reply takes the outage on; empty: none.
  std::string answer_link;   ///< Page on which it can be taken on; empty: none.
  std::uint32_t attempt = 1;
  /// Of a summary or digest: the notices that are told in it.
  std::vector<std::string> carries{};
};

/// What came of one attempt. `unknown` is a lost answer: it may have arrived, so it is repeated
/// with the same identifier.
struct Outcome {
  enum class Kind : std::uint8_t { delivered, retry_later, rejected_forever, unknown };
  Kind kind = Kind::unknown;
  std::string answer;               ///< What the other side said, for the log; no secrets.
  std::optional<Span> retry_after;  ///< At least so long, where the other side asked for it.
};

/// How a way stands apart from the attempts, where the notifier can tell.
struct WayState {
  enum class Word : std::uint8_t { not_known, working, failing };
  Word word = Word::not_known;
  std::string text;  ///< For people: "registered with the home network; signal 20 of 31".
};

/// Carries messages. Lives on the I/O thread, never blocks it, and keeps no state that matters
/// after a restart. Destroyed only after every deliver() has ended.
class Notifier {
 public:
  Notifier() = default;
  Notifier(const Notifier&) = delete;
  Notifier& operator=(const Notifier&) = delete;
  virtual ~Notifier() = default;

  /// One attempt; several may run at once. Ends within limits::deliver_time_max, also when the
  /// other side hangs. Never throws except for cancellation by Asio. `message` is a copy: it
  /// outlives the call.
  virtual boost::asio::awaitable<Outcome> deliver(Message message) = 0;

  /// Looks whether a message would be taken, without sending one, so that a failure shows before
  /// the night. `delivered` means that nothing speaks against it. Ends within deliver_time_max.
  /// Empty: this kind has no harmless way to find out.
  virtual boost::asio::awaitable<std::optional<Outcome>> check() { co_return std::nullopt; }
  /// What it knows without asking. Cheap; called for every `status`.
  virtual WayState state() const { return {}; }
};

}  // namespace ebbwatch
