// Overwrites a secret once it has served, so that it does not wait in memory for a later reader.
#pragma once

#include <span>
#include <string>

namespace ebbwatch {

/// Zeroes the bytes in a way that a compiler may not leave out (OPENSSL_cleanse(3)).
void wipe(std::span<unsigned char> bytes);
/// The same for all that the string holds, also behind its end; it is empty afterwards.
void wipe(std::string& text);

/// Wipes a string at the end of a scope, whichever way that is left.
class WipedAtEnd {
 public:
  explicit WipedAtEnd(std::string& text) : text_(text) {}
  ~WipedAtEnd() { wipe(text_); }
  WipedAtEnd(const WipedAtEnd&) = delete;
  WipedAtEnd& operator=(const WipedAtEnd&) = delete;

 private:
  std::string& text_;
};

}  // namespace ebbwatch
