#include "notifiers/gsm_modem/gsm_modem_notifier.h"

#include <algorithm>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/system/system_error.hpp>
#include <chrono>
#include <map>
#include <utility>

#include "notifiers/gsm_modem/modem_dialogue.h"
#include "notifiers/gsm_modem/serial_port.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace asio = boost::asio;
using boost::system::error_code;

namespace {

constexpr Span reopen_first = Span::of_ms(500), reopen_every = Span::of_s(5);
// The network's part of the time limit; the rest is for our turn in the queue and the prompt.
constexpr std::int64_t answer_share_percent = 70;

std::chrono::microseconds duration(Span span) {
  return std::chrono::microseconds(std::max<std::int64_t>(0, span.us));
}

// FNV-1a: only to give the pieces of one notice the same number at every attempt.
std::uint8_t reference_of(const std::string& notice) {
  std::uint32_t hash = 2166136261U;
  for (const char c : notice) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619U;
  return static_cast<std::uint8_t>(hash ^ hash >> 8 ^ hash >> 16 ^ hash >> 24);
}

// The device and the dialogue with it, for as long as the notifier lives.
class ModemSession {
 public:
  struct Parts {
    std::string id;
    ModemSettings settings;
    ModemSetup setup;
    Clock& clock;
    IncomingTexts* incoming;
  };
  ModemSession(Parts parts, const asio::any_io_executor& executor)
      : parts_(std::move(parts)),
        dialogue_(parts_.setup),
        port_(executor),
        dialogue_timer_(executor),
        reopen_timer_(executor) {
    open();
  }

  asio::awaitable<Outcome> send(std::string phone, std::string text, std::uint8_t reference);
  WayState state() const { return dialogue_.state(); }

 private:
  struct Waiting {
    explicit Waiting(const asio::any_io_executor& executor) : ended(executor) {
      ended.expires_at(asio::steady_timer::time_point::max());
    }
    asio::steady_timer ended;
    std::optional<Outcome> outcome;
  };

  void open();
  void reopen_after(Span wait);
  void lost(const std::string& why);
  void settle();
  void hand_on();
  void arm();

  Parts parts_;
  ModemDialogue dialogue_;
  SerialPort port_;
  asio::steady_timer dialogue_timer_, reopen_timer_;
  std::uint64_t last_job_ = 0;
  std::map<std::uint64_t, std::shared_ptr<Waiting>> waiting_;
};

void ModemSession::open() {
  const auto opened = port_.open(
      parts_.settings.device, parts_.settings.speed,
      [this](std::string_view bytes) {
        dialogue_.received(bytes, parts_.clock.now());
        settle();
      },
      [this](const std::string& why) { lost(parts_.settings.device + " is gone: " + why); });
  if (opened) {
    dialogue_.opened(parts_.clock.now());
    settle();
  } else {
    lost(opened.error().text);
  }
}

void ModemSession::lost(const std::string& why) {
  const bool had_been_open = port_.is_open();
  port_.close();
  dialogue_.closed(why, parts_.clock.now());
  reopen_after(had_been_open ? reopen_first : reopen_every);
  settle();
}

void ModemSession::reopen_after(Span wait) {
  reopen_timer_.expires_after(duration(wait));
  reopen_timer_.async_wait([this](error_code error) {
    if (!error) open();
  });
}

// Performs what the dialogue wants after each of its turns.
void ModemSession::settle() {
  if (dialogue_.wants_reopen()) return lost("the modem does not answer; opening it again");
  hand_on();
  port_.write(dialogue_.take_output());
  for (auto& [job, outcome] : dialogue_.take_ended()) {
    const auto found = waiting_.find(job);
    if (found == waiting_.end()) continue;
    found->second->outcome = std::move(outcome);
    found->second->ended.cancel();
  }
  arm();
}

void ModemSession::hand_on() {
  for (const auto& text : dialogue_.take_incoming()) {
    const Instant now = parts_.clock.now();
    IncomingAnswer answer;
    if (parts_.incoming != nullptr) {
      answer = parts_.incoming->incoming_text(parts_.id, text.from, text.text);
    }
    dialogue_.taken(text.index, now);
    if (answer.reply.empty() || !text.from.starts_with('+')) continue;
    dialogue_.send({0, text.from, answer.reply, 0, now + parts_.settings.time_limit}, now);
  }
}

void ModemSession::arm() {
  const Instant deadline = dialogue_.deadline();
  if (deadline.is_never()) {
    dialogue_timer_.cancel();
    return;
  }
  dialogue_timer_.expires_after(duration(deadline - parts_.clock.now()));
  dialogue_timer_.async_wait([this](error_code error) {
    if (error) return;
    dialogue_.elapsed(parts_.clock.now());
    settle();
  });
}

asio::awaitable<Outcome> ModemSession::send(std::string phone, std::string text,
                                            std::uint8_t reference) {
  const auto waiting = std::make_shared<Waiting>(co_await asio::this_coro::executor);
  const std::uint64_t job = ++last_job_;
  const Instant now = parts_.clock.now();
  const Span turn = parts_.settings.time_limit - parts_.setup.answer_time;
  waiting_.emplace(job, waiting);
  dialogue_.send({job, std::move(phone), std::move(text), reference, now + turn}, now);
  settle();
  while (!waiting->outcome) {
    const auto [error] = co_await waiting->ended.async_wait(asio::as_tuple(asio::use_awaitable));
    if (waiting->outcome) break;
    waiting_.erase(job);
    dialogue_.forget(job, parts_.clock.now());
    settle();
    throw boost::system::system_error(error);
  }
  waiting_.erase(job);
  co_return std::move(*waiting->outcome);
}

class GsmModemNotifier final : public Notifier {
 public:
  GsmModemNotifier(ModemSession::Parts parts, const asio::any_io_executor& executor)
      : session_(std::move(parts), executor) {}

  asio::awaitable<Outcome> deliver(Message message) override {
    if (message.to_phone.empty()) {
      co_return Outcome{Outcome::Kind::rejected_forever,
                        message.keyholder + " has no telephone number", std::nullopt};
    }
    co_return co_await session_.send(message.to_phone, message.short_text,
                                     reference_of(message.notice));
  }
  asio::awaitable<std::optional<Outcome>> check() override {
    const WayState state = session_.state();  // It is watched all the time.
    const bool failing = state.word == WayState::Word::failing;
    co_return Outcome{failing ? Outcome::Kind::retry_later : Outcome::Kind::delivered, state.text,
                      std::nullopt};
  }
  WayState state() const override { return session_.state(); }

 private:
  ModemSession session_;
};

bool is_pin(const std::string& pin) {
  return pin.size() >= 4 && pin.size() <= 8 &&
         std::all_of(pin.begin(), pin.end(), [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

Result<std::unique_ptr<Notifier>> make_gsm_modem_notifier(const NotifierSettings& settings,
                                                          const std::string& configuration_file,
                                                          Clock& clock, IncomingTexts* incoming,
                                                          asio::any_io_executor executor) {
  ModemSession::Parts parts{settings.id, settings.modem, {}, clock, incoming};
  parts.setup.mode = settings.modem.mode == ModemMode::pdu    ? ModemSetup::Mode::pdu
                     : settings.modem.mode == ModemMode::text ? ModemSetup::Mode::text
                                                              : ModemSetup::Mode::automatic;
  parts.setup.answer_time = settings.modem.time_limit * answer_share_percent / 100;
  if (settings.modem.pin.given()) {
    auto pin = read_secret(settings.modem.pin, configuration_file);
    if (!pin) return pin.error();
    if (!is_pin(pin.value())) return Error{Errc::bad_input, "pin: not 4 to 8 digits"};
    parts.setup.pin = std::move(pin.value());
  }
  return std::unique_ptr<Notifier>(std::make_unique<GsmModemNotifier>(std::move(parts), executor));
}

}  // namespace ebbwatch
