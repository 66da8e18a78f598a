// Slows down who guesses passwords: after some wrong ones a sender must wait, each time twice as
// long. Pure.
#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "core/time.h"

namespace ebbwatch {

class LoginBrake {
 public:
  /// How long this sender must still wait before it may try; zero: now.
  Span wait(const std::string& sender, Instant now) const;
  void wrong(const std::string& sender, Instant now);
  void right(const std::string& sender);

 private:
  struct Tries {
    std::uint32_t wrong = 0;
    Instant last, free_at;
  };
  std::map<std::string, Tries> senders_;
};

}  // namespace ebbwatch
