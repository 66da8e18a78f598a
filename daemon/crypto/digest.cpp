#include "crypto/digest.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <openssl/sha.h>

#include "core/invariant.h"

namespace ebbwatch {
namespace {

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

constexpr std::string_view base64_digits =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
constexpr std::string_view base64url_digits =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

std::string encode(std::span<const std::uint8_t> bytes, std::string_view digits, bool pad) {
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  std::uint32_t bits = 0;
  int held = 0;
  for (const auto byte : bytes) {
    bits = bits << 8 | byte;
    held += 8;
    while (held >= 6) {
      held -= 6;
      out += digits[bits >> held & 63U];
    }
  }
  if (held > 0) out += digits[bits << (6 - held) & 63U];
  while (pad && out.size() % 4 != 0) out += '=';
  return out;
}

/// @param text without padding.
std::optional<std::string> decode(std::string_view text, std::string_view digits) {
  if (text.size() % 4 == 1) return std::nullopt;
  std::string out;
  out.reserve(text.size() / 4 * 3 + 2);
  std::uint32_t bits = 0;
  int held = 0;
  for (const char c : text) {
    const auto digit = digits.find(c);
    if (digit == std::string_view::npos) return std::nullopt;
    bits = bits << 6 | static_cast<std::uint32_t>(digit);
    held += 6;
    if (held < 8) continue;
    held -= 8;
    out += static_cast<char>(bits >> held & 255U);
  }
  // Bits left over must be zero (RFC 4648 §3.5), so that one text stands for one value.
  if ((bits & ((1U << held) - 1U)) != 0) return std::nullopt;
  return out;
}

}  // namespace

Sha256 sha256(std::string_view data) {
  Sha256 out{};
  unsigned int length = 0;
  const int done = EVP_Digest(data.data(), data.size(), out.data(), &length, EVP_sha256(), nullptr);
  INVARIANT(done == 1 && length == out.size());
  return out;
}

Sha256 hmac_sha256(std::string_view key, std::string_view data) {
  Sha256 out{};
  unsigned int length = 0;
  // HMAC() takes a null key to mean "the key of the call before", so an empty one needs an address.
  const char* key_bytes = key.empty() ? "" : key.data();
  const auto* done = HMAC(EVP_sha256(), key_bytes, static_cast<int>(key.size()), bytes_of(data),
                          data.size(), out.data(), &length);
  INVARIANT(done != nullptr && length == out.size());
  return out;
}

std::string to_hex(std::span<const std::uint8_t> bytes) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out;
  out.reserve(bytes.size() * 2);
  for (const auto byte : bytes) {
    out += digits[byte >> 4];
    out += digits[byte & 15U];
  }
  return out;
}

std::optional<std::vector<std::uint8_t>> from_hex(std::string_view text) {
  if (text.size() % 2 != 0) return std::nullopt;
  std::vector<std::uint8_t> out;
  out.reserve(text.size() / 2);
  for (std::size_t i = 0; i < text.size(); i += 2) {
    const int high = hex_digit(text[i]);
    const int low = hex_digit(text[i + 1]);
    if (high < 0 || low < 0) return std::nullopt;
    out.push_back(static_cast<std::uint8_t>(high * 16 + low));
  }
  return out;
}

std::string to_base64(std::span<const std::uint8_t> bytes) {
  return encode(bytes, base64_digits, true);
}

std::string to_base64url(std::span<const std::uint8_t> bytes) {
  return encode(bytes, base64url_digits, false);
}

std::optional<std::string> from_base64(std::string_view text) {
  if (text.size() % 4 != 0) return std::nullopt;
  const std::size_t padding = text.ends_with("==") ? 2 : text.ends_with('=') ? 1 : 0;
  return decode(text.substr(0, text.size() - padding), base64_digits);
}

std::optional<std::string> from_base64url(std::string_view text) {
  return decode(text, base64url_digits);
}

bool equal_in_constant_time(std::string_view a, std::string_view b) {
  return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

std::string content_digest(std::string_view body) {
  return "sha-256=:" + to_base64(sha256(body)) + ":";
}

}  // namespace ebbwatch
