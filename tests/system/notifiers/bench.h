// What a notifier needs around it, on a real loop: clock, entropy, curl client, settings.
#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/json/value.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/time.h"
#include "notifiers/curl_client.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/incoming.h"
#include "ports/notifier.h"
#include "settings/settings.h"
#include "support/temporary_folder.h"

namespace ebbwatch::test {

/// The machine's time: receivers compare it with theirs.
class MachineClock final : public Clock {
 public:
  Instant now() const override;
  WallTime wall_now() const override;
};

/// Different at every call, the same in every run.
class CountingEntropy final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override;

 private:
  std::uint8_t next_ = 0;
};

/// What came of one or several attempts.
struct Attempts {
  std::vector<Outcome> outcomes;  ///< In the order of the messages.
  Span took;
  Span longest_stall;  ///< The longest time in which the loop did nothing else.
};

/// Texts that came in, in order.
class KeptTexts final : public IncomingTexts {
 public:
  struct Text {
    std::string notifier, from, text;
  };
  IncomingAnswer incoming_text(const std::string& notifier, const std::string& from,
                               const std::string& text) override;
  std::vector<Text> texts;
  std::string reply;  ///< Given to every sender.
};

class Bench {
 public:
  /// @param whole time limit of one transfer
  explicit Bench(Span whole = Span::of_s(10));

  std::unique_ptr<Notifier> make(const NotifierSettings& notifier);
  /// The error of a notifier that must not come into being.
  std::string fault(const NotifierSettings& notifier);
  Outcome deliver(Notifier& notifier, Message message);
  /// All at once.
  Attempts deliver_all(Notifier& notifier, std::vector<Message> messages);
  /// Cancels `after` the start. @return true when it ended by an exception of cancellation.
  bool cancelled(Notifier& notifier, Message message, Span after);
  std::optional<Outcome> check(Notifier& notifier);
  /// Lets the loop run for a time, or until the condition holds. @return whether it holds.
  void turn(Span time);
  bool turn_until(const std::function<bool()>& condition);
  KeptTexts& incoming() { return incoming_; }

  /// A path in this bench's own folder.
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  /// Writes a secret that only we can read. @return where it is.
  SecretSource secret(const std::string& name, const std::string& content) const;
  /// The lines of JSON that a counterpart wrote, oldest first.
  std::vector<boost::json::value> log(const std::string& name) const;

 private:
  TemporaryFolder folder_;
  boost::asio::io_context loop_;
  MachineClock clock_;
  CountingEntropy entropy_;
  CurlClient client_;
  KeptTexts incoming_;
  Settings settings_;
};

/// A loss notice to Robin; `notice` goes into its identifier.
Message loss_message(const std::string& notice = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
/// A member as text; fails the test when it is missing.
std::string text_at(const boost::json::value& object, const std::string& pointer);
const char* shown(Outcome::Kind kind);
inline std::string kind_of(const Outcome& outcome) {
  return shown(outcome.kind);
}

}  // namespace ebbwatch::test
