#include "ingest/datagram_desk.h"

#include <algorithm>

#include "core/limits.h"
#include "crypto/controller_key.h"

namespace ebbwatch {
namespace {

constexpr Span strangers_told_every = Span::of_min(1);

}  // namespace

void DatagramDesk::restore(const std::string& controller, WallTime proven_at) {
  Sender& sender = senders_[controller];
  sender.last_at = std::max(sender.last_at, proven_at);
  // Its number was not kept, so that another one of the same millisecond would be taken for new.
  sender.last_seq = UINT64_MAX;
}

std::string DatagramDesk::take(std::string_view bytes, const boost::asio::ip::address& from,
                               Instant now, WallTime wall_now) {
  const Sent sent{bytes, from, now, wall_now};
  const auto datagram = parse_datagram(bytes);
  if (!datagram) {
    turn_away(counters_.malformed, sent);
    return {};
  }
  const MacState* known = admission_.keys().mac_of(datagram->controller);
  // With some key for an unknown one, so that the time does not tell which controllers exist.
  const MacState key = known != nullptr ? *known : MacState{};
  if (!datagram->is_made_with(key) || known == nullptr) {
    turn_away(counters_.wrong_mac, sent);
    return {};
  }
  return take_genuine(*datagram, key, sent);
}

std::string DatagramDesk::take_genuine(const Datagram& datagram, const MacState& key,
                                       const Sent& sent) {
  // Controllers whose keys are gone leave their entries behind.
  if (senders_.size() > admission_.keys().size() * 2 + 16) {
    std::erase_if(senders_, [this](const auto& held) {
      return admission_.keys().mac_of(held.first) == nullptr;
    });
  }
  Sender& sender = senders_[std::string(datagram.controller)];
  const bool returned =
      datagram.echo.size() >= echo_chars_min && sent.now < sender.echo_until &&
      datagram.echo.size() <= sender.echo.size() &&
      equal_in_constant_time(datagram.echo,
                             std::string_view(sender.echo).substr(0, datagram.echo.size()));
  const auto off = datagram.sent_at ? *datagram.sent_at - sent.wall_now : Span{};
  const bool clock_good = datagram.sent_at && off <= limits::datagram_clock_tolerance &&
                          off >= Span{} - limits::datagram_clock_tolerance;
  const bool timely =
      clock_good && (*datagram.sent_at > sender.last_at ||
                     (*datagram.sent_at == sender.last_at && datagram.seq > sender.last_seq));
  if (timely || returned) return take_new(datagram, key, sent, sender, timely, returned);
  if (!datagram.sent_at) {
    ++counters_.echo_given;
    return answer(sent, key, sender);
  }
  if (clock_good) {
    ++counters_.replayed;
  } else {
    refuse(counters_.clock_off, sender, datagram, sent, 401,
           "Its clock is " + std::to_string(off.us / 1'000'000) +
               " s from this watcher's; allowed are 300 s. Set the clock, or send - instead of "
               "the time and return the echo of the answer.");
  }
  return {};
}

std::string DatagramDesk::take_new(const Datagram& datagram, const MacState& key, const Sent& sent,
                                   Sender& sender, bool timely, bool returned) {
  const std::string controller(datagram.controller);
  if (const auto slow_down = admission_.too_fast(controller, sent.now)) {
    refuse(counters_.too_fast, sender, datagram, sent, 429, slow_down->detail);
    return {};
  }
  // Used up whatever comes of it: a second look at the same bytes must not end otherwise.
  Credential credential{.kind = Credential::Kind::datagram, .controller = controller};
  if (timely) {
    sender.last_at = *datagram.sent_at;
    sender.last_seq = datagram.seq;
    credential.proven_at = datagram.sent_at;
  }
  if (returned) sender.echo.clear();
  const auto parsed = check_in_of(datagram);
  if (!parsed) {
    refuse(counters_.wrong_fields, sender, datagram, sent, 400, parsed.error().text);
    return {};
  }
  const auto came_of_it =
      sink_.accept(credential, parsed.value(), plain_address(sent.from), sent.now);
  if (came_of_it != CheckInAnswer::taken) {
    refuse(counters_.not_taken, sender, datagram, sent, 403,
           came_of_it == CheckInAnswer::unknown_controller
               ? "It is not in this watcher's configuration. Add it there and reload."
               : "This watcher cannot take check-ins just now.");
    return {};
  }
  ++counters_.taken;
  return answer(sent, key, sender);
}

std::string DatagramDesk::answer(const Sent& sent, const MacState& key, Sender& sender) {
  const auto shortest = datagram_answer_bytes(echo_chars_min);
  if (sent.bytes.size() < shortest) return {};
  if (sender.echo.empty() || sent.now >= sender.echo_until) {
    std::array<std::uint8_t, echo_chars / 4 * 3> random{};
    entropy_.fill(random);
    sender.echo = to_base64url(random);
    sender.echo_until = sent.now + limits::datagram_echo_time_max;
  }
  const auto room = std::min(echo_chars, echo_chars_min + (sent.bytes.size() - shortest));
  return datagram_answer(std::string_view(sender.echo).substr(0, room), key);
}

void DatagramDesk::refuse(std::uint64_t& counter, Sender& sender, const Datagram& datagram,
                          const Sent& sent, int status, const std::string& detail) {
  ++counter;
  if (sent.now < sender.told_after) return;
  sender.told_after = sent.now + limits::datagram_told_every;
  sink_.refused(status, std::string(datagram.controller), plain_address(sent.from),
                without_keys(detail));
}

void DatagramDesk::turn_away(std::uint64_t& counter, const Sent& sent) {
  ++counter;
  ++untold_;
  if (sent.now < strangers_told_after_) return;
  strangers_told_after_ = sent.now + strangers_told_every;
  const bool no_form = &counter == &counters_.malformed;
  sink_.refused(no_form ? 400 : 401, "", plain_address(sent.from),
                (no_form ? "A datagram did not have the form EBB1 CONTROLLER SEQ TIME ECHO PAIRS "
                           "MAC."
                         : "The mac of a datagram does not fit: its HMAC key is the text of the "
                           "controller's key, made by ebbwatch enrol.") +
                    (untold_ > 1 ? std::string(" Turned away since the last such line: ") +
                                       std::to_string(untold_) + "."
                                 : std::string()));
  untold_ = 0;
}

}  // namespace ebbwatch
