#include "bench.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/system/system_error.hpp>
#include <chrono>
#include <functional>
#include <sstream>

#include "counterpart.h"
#include "notifiers/registry.h"

namespace ebbwatch::test {
namespace asio = boost::asio;
using std::chrono::steady_clock;

namespace {

Span span_of(steady_clock::duration duration) {
  return Span::of_us(std::chrono::duration_cast<std::chrono::microseconds>(duration).count());
}

// A short timer that is set again and again: when it comes late, something held the loop up.
class Heartbeat {
 public:
  explicit Heartbeat(asio::io_context& loop) : timer_(loop) { beat(); }
  void stop() {
    stopped_ = true;
    timer_.cancel();
  }
  Span longest_stall() const { return longest_; }

 private:
  void beat() {
    const auto set = steady_clock::now();
    timer_.expires_after(std::chrono::milliseconds(5));
    timer_.async_wait([this, set](boost::system::error_code) {
      longest_ = std::max(longest_, span_of(steady_clock::now() - set));
      if (!stopped_) beat();
    });
  }
  asio::steady_timer timer_;
  Span longest_;
  bool stopped_ = false;
};

}  // namespace

Instant MachineClock::now() const {
  return {span_of(steady_clock::now().time_since_epoch()).us};
}

WallTime MachineClock::wall_now() const {
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  return {std::chrono::duration_cast<std::chrono::microseconds>(now).count()};
}

void CountingEntropy::fill(std::span<std::uint8_t> bytes) {
  for (auto& byte : bytes) byte = next_++;
}

Bench::Bench(Span whole)
    : client_(loop_.get_executor(), TransferLimits{.connect = whole, .whole = whole}) {
  settings_.watcher.name = "harbour";
  settings_.file = path("ebbwatch.yaml");
}

std::unique_ptr<Notifier> Bench::make(const NotifierSettings& notifier) {
  auto made = make_notifier(notifier, settings_,
                            {client_, clock_, entropy_, loop_.get_executor(), &incoming_});
  if (!made) FAIL(made.error().text);
  return std::move(made.value());
}

std::string Bench::fault(const NotifierSettings& notifier) {
  auto made = make_notifier(notifier, settings_,
                            {client_, clock_, entropy_, loop_.get_executor(), &incoming_});
  return made ? "" : made.error().text;
}

Outcome Bench::deliver(Notifier& notifier, Message message) {
  return deliver_all(notifier, {std::move(message)}).outcomes.front();
}

Attempts Bench::deliver_all(Notifier& notifier, std::vector<Message> messages) {
  Attempts attempts;
  attempts.outcomes.resize(messages.size());
  std::size_t running = messages.size();
  Heartbeat heartbeat(loop_);
  const auto begun = steady_clock::now();
  for (std::size_t i = 0; i < messages.size(); ++i) {
    asio::co_spawn(loop_, notifier.deliver(messages[i]),
                   [&, i](std::exception_ptr thrown, Outcome outcome) {
                     CHECK_FALSE(thrown);
                     attempts.outcomes[i] = std::move(outcome);
                     if (--running == 0) loop_.stop();
                   });
  }
  loop_.restart();
  loop_.run_for(std::chrono::seconds(60));
  REQUIRE_MESSAGE(running == 0, "a delivery did not end");
  attempts.took = span_of(steady_clock::now() - begun);
  attempts.longest_stall = heartbeat.longest_stall();
  heartbeat.stop();
  turn(Span());
  return attempts;
}

std::optional<Outcome> Bench::check(Notifier& notifier) {
  std::optional<std::optional<Outcome>> found;
  asio::co_spawn(loop_, notifier.check(),
                 [&](std::exception_ptr thrown, std::optional<Outcome> of) {
                   CHECK_FALSE(thrown);
                   found = std::move(of);
                 });
  REQUIRE(turn_until([&] { return found.has_value(); }));
  return *found;
}

void Bench::turn(Span time) {
  loop_.restart();
  if (time.us == 0) {
    loop_.poll();
  } else {
    loop_.run_for(std::chrono::microseconds(time.us));
  }
}

bool Bench::turn_until(const std::function<bool()>& condition) {
  const auto end = steady_clock::now() + std::chrono::seconds(20);
  while (!condition() && steady_clock::now() < end) turn(Span::of_ms(10));
  return condition();
}

IncomingAnswer KeptTexts::incoming_text(const std::string& notifier, const std::string& from,
                                        const std::string& text) {
  texts.push_back({notifier, from, text});
  return {IncomingAnswer::Kind::acknowledged, reply};
}

bool Bench::cancelled(Notifier& notifier, Message message, Span after) {
  asio::cancellation_signal signal;
  std::exception_ptr thrown;
  asio::co_spawn(
      loop_, notifier.deliver(std::move(message)),
      asio::bind_cancellation_slot(signal.slot(), [&](std::exception_ptr e, const Outcome&) {
        thrown = e;
        loop_.stop();
      }));
  asio::steady_timer timer(loop_, std::chrono::microseconds(after.us));
  timer.async_wait(
      [&](boost::system::error_code) { signal.emit(asio::cancellation_type::terminal); });
  loop_.restart();
  loop_.run_for(std::chrono::seconds(60));
  if (!thrown) return false;
  try {
    std::rethrow_exception(thrown);
  } catch (const boost::system::system_error& error) {
    return error.code() == asio::error::operation_aborted;
  }
}

SecretSource Bench::secret(const std::string& name, const std::string& content) const {
  write_file(path(name), content);
  return {SecretSource::Kind::file, name};
}

std::vector<boost::json::value> Bench::log(const std::string& name) const {
  std::vector<boost::json::value> out;
  std::istringstream lines(read_file(path(name)));
  for (std::string line; std::getline(lines, line);) out.push_back(boost::json::parse(line));
  return out;
}

Message loss_message(const std::string& notice) {
  Message message;
  message.notice = notice;
  message.outage = "harbour-17";
  message.event_type = "ebbwatch.loss";
  message.subject_id = "lagoon";
  message.keyholder = "robin";
  message.to_name = "Robin";
  message.to_email = "robin@example.net";
  message.to_phone = "+15550100";
  message.subject = "Lagoon reef: no contact for 12 min";
  message.text = "No contact with Lagoon reef (Elm Street) since 14:02.\n\nLast reading: 26 °C.\n";
  message.short_text = "Lagoon reef: no contact since 14:02, last 26 C";
  message.data_json =
      R"({"decision":"loss","scope":"tank","confidence":0.86,"name":"Lagoon reef"})";
  message.decided_at = {1645557742'000'000};  // 2022-02-22T19:22:22Z
  return message;
}

std::string text_at(const boost::json::value& object, const std::string& pointer) {
  boost::system::error_code error;
  const auto* found = object.find_pointer(pointer, error);
  REQUIRE_MESSAGE(found != nullptr, "no " << pointer);
  return found->is_string() ? std::string(found->get_string()) : serialize(*found);
}

const char* shown(Outcome::Kind kind) {
  switch (kind) {
    case Outcome::Kind::delivered:
      return "delivered";
    case Outcome::Kind::retry_later:
      return "retry_later";
    case Outcome::Kind::rejected_forever:
      return "rejected_forever";
    case Outcome::Kind::unknown:
      break;
  }
  return "unknown";
}

}  // namespace ebbwatch::test
