// Digests, message authentication and their text forms: a thin layer over OpenSSL (the only folder
// that includes it besides TLS listeners).
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

using Sha256 = std::array<std::uint8_t, 32>;

/// FIPS 180-4.
Sha256 sha256(std::string_view data);
/// RFC 2104 with SHA-256. A key of any length; keys over 64 bytes are hashed first, as the RFC
/// says.
Sha256 hmac_sha256(std::string_view key, std::string_view data);

/// Lower-case hexadecimal.
std::string to_hex(std::span<const std::uint8_t> bytes);
/// Empty when the text is not an even number of hexadecimal digits.
std::optional<std::vector<std::uint8_t>> from_hex(std::string_view text);
/// RFC 4648 §4, with padding.
std::string to_base64(std::span<const std::uint8_t> bytes);
/// RFC 4648 §5 (URL and file name safe), without padding.
std::string to_base64url(std::span<const std::uint8_t> bytes);
/// Strict: padding required, no line ends. Empty when malformed.
std::optional<std::string> from_base64(std::string_view text);
/// The same for §5: no padding allowed.
std::optional<std::string> from_base64url(std::string_view text);

/// Compares in a time that depends on the lengths only.
bool equal_in_constant_time(std::string_view a, std::string_view b);

/// RFC 9530: the value of a Content-Digest field with sha-256 over `body`.
std::string content_digest(std::string_view body);

}  // namespace ebbwatch
