// What becomes of a datagram: who sent it, is it new, what is answered. Pure: time, random source
// and sink are given; sockets are the listener's (udp_listener.h).
//
// Contact is only what proves to be new, in one of two ways:
//  * by its time: at most 300 s off our clock, and (time, seq) after the newest that was taken;
//  * by returning the echo that the last answer gave, within 24 h, once. For controllers without a
//    clock, and for those whose clock was set back.
// An echo is 12 random characters, or as many of them as fit into an answer that is no longer than
// the datagram, at least six. It stays the same until it is used, so that replays cannot displace
// it.
//
// Answers: whatever was taken is answered with the next echo. A datagram without a time that does
// not return the echo is answered too, because that is how a controller without a clock gets its
// first one and goes on when an answer was lost; it is not contact. Everything else (no such form,
// wrong mac, unknown controller, replay, clock off, wrong fields, too fast) is counted and not
// answered, nor is one that is too short for the shortest answer (47 bytes).
//
// A controller is slowed down by its own new datagrams only; replays cost it nothing. The log hears
// of refused senders that hold a key at most every 10 min for each, and of all others together at
// most once a minute, with their number.
#pragma once

#include <array>
#include <boost/asio/ip/address.hpp>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "core/time.h"
#include "ingest/admission.h"
#include "ingest/check_in_handler.h"
#include "ingest/datagram.h"
#include "ports/entropy.h"

namespace ebbwatch {

struct DatagramCounters {
  std::uint64_t taken = 0;
  std::uint64_t echo_given = 0;    ///< Without proof that it is new; answered, not contact.
  std::uint64_t replayed = 0;      ///< Genuine once, but not after what was taken.
  std::uint64_t clock_off = 0;     ///< Genuine, but its time is too far from ours.
  std::uint64_t malformed = 0;     ///< Not of the form.
  std::uint64_t wrong_mac = 0;     ///< Or a controller without a key.
  std::uint64_t wrong_fields = 0;  ///< Genuine and new, but a pair is wrong.
  std::uint64_t too_fast = 0;
  std::uint64_t not_taken = 0;  ///< Not in the configuration, or the watcher stops just now.
};

class DatagramDesk {
 public:
  /// All must outlive it.
  DatagramDesk(Admission& admission, CheckInSink& sink, Entropy& entropy)
      : admission_(admission), sink_(sink), entropy_(entropy) {}

  /// None up to this time is taken from this controller any more. For the start, from the store.
  void restore(const std::string& controller, WallTime proven_at);

  /// @return the answer; empty: none.
  std::string take(std::string_view bytes, const boost::asio::ip::address& from, Instant now,
                   WallTime wall_now);
  const DatagramCounters& counters() const { return counters_; }

 private:
  static constexpr std::size_t echo_chars = 12, echo_chars_min = 6;

  /// Of a controller that has sent something genuine.
  struct Sender {
    WallTime last_at{INT64_MIN / 2};
    std::uint64_t last_seq = 0;
    std::string echo;  ///< Empty: none is given.
    Instant echo_until;
    Instant told_after;  ///< No log line before.
  };
  struct Sent {  ///< The one being looked at.
    std::string_view bytes;
    const boost::asio::ip::address& from;
    Instant now;
    WallTime wall_now;
  };

  std::string take_genuine(const Datagram& datagram, const MacState& key, const Sent& sent);
  std::string take_new(const Datagram& datagram, const MacState& key, const Sent& sent,
                       Sender& sender, bool timely, bool returned);
  std::string answer(const Sent& sent, const MacState& key, Sender& sender);
  void refuse(std::uint64_t& counter, Sender& sender, const Datagram& datagram, const Sent& sent,
              int status, const std::string& detail);
  void turn_away(std::uint64_t& counter, const Sent& sent);

  Admission& admission_;
  CheckInSink& sink_;
  Entropy& entropy_;
  DatagramCounters counters_;
  std::unordered_map<std::string, Sender> senders_;
  std::uint64_t untold_ = 0;  ///< Turned away since the log last heard of it.
  Instant strangers_told_after_{INT64_MIN / 2};
};

}  // namespace ebbwatch
