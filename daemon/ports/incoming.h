// Texts that people send to the watcher: replies to a notice ("OK 4271"). Whatever carries texts in
// (a modem, a gateway's callback) hands them to this port; app/ decides what they mean.
#pragma once

#include <cstdint>
#include <string>

namespace ebbwatch {

/// What came of one incoming text.
struct IncomingAnswer {
  enum class Kind : std::uint8_t {
    acknowledged,     ///< The sender has the outage now.
    had_already,      ///< Somebody, or the sender, has it already; nothing changed.
    confirmed_drill,  ///< An answer to an exercise.
    over,             ///< The outage of this code has ended.
    not_told,         ///< The sender was not told of this outage, so it is not theirs to take on.
    unknown_code,     ///< It looks like an answer, but no open question has this code.
    unknown_sender,   ///< No keyholder has this number; nothing was changed.
    not_understood,   ///< Not an answer.
  };
  Kind kind = Kind::not_understood;
  /// What may be sent back to the number, in at most 160 septets of the GSM alphabet. Empty for
  /// senders that nobody knows: they are never answered.
  std::string reply;
};

class IncomingTexts {
 public:
  IncomingTexts() = default;
  IncomingTexts(const IncomingTexts&) = delete;
  IncomingTexts& operator=(const IncomingTexts&) = delete;
  virtual ~IncomingTexts() = default;

  /// Call on the loop's thread, once for each text (a text that may have been handed over already
  /// may be handed over again: acknowledging twice changes nothing). Never blocks or throws.
  /// @param notifier identifier of the notifier through which it came.
  /// @param from the sender's number as the network gave it: "+15550100", "15550100",
  ///        "0015550100"; blanks and hyphens do no harm. At most 64 bytes are looked at.
  /// @param text UTF-8, at most 1,024 bytes are looked at. It is logged, shortened and quoted.
  virtual IncomingAnswer incoming_text(const std::string& notifier, const std::string& from,
                                       const std::string& text) = 0;
};

}  // namespace ebbwatch
