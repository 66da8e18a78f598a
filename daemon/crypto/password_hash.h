// Passwords of people, kept as scrypt hashes (RFC 7914), since what a person can remember can also
// be guessed.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace ebbwatch {

/// Cost of one hash: memory is 128 * 2^log2_n * r bytes, time grows with all three.
struct ScryptCost {
  std::uint32_t log2_n = 15, r = 8, p = 3;  ///< 32 MiB; OWASP's advice for scrypt (from memory).
};

/// scrypt itself. Empty when the cost is beyond 256 MiB or otherwise not allowed by RFC 7914.
std::string scrypt(std::string_view password, std::string_view salt, const ScryptCost& cost,
                   std::size_t length);

/// "scrypt:15:8:3:<salt>:<hash>", both base64url. @param salt 16 unpredictable bytes.
std::string hash_password(std::string_view password, std::span<const std::uint8_t, 16> salt,
                          const ScryptCost& cost = {});
/// Takes as long as the hash's cost says (tenths of a second); false too when `stored` is no such
/// hash.
bool password_matches(std::string_view password, std::string_view stored);

}  // namespace ebbwatch
