#include "crypto/password_hash.h"

#include <openssl/evp.h>

#include <charconv>
#include <optional>
#include <vector>

#include "crypto/digest.h"

namespace ebbwatch {
namespace {

constexpr std::uint64_t memory_max = 256ULL * 1024 * 1024;
constexpr std::size_t hash_bytes = 32;

std::vector<std::string_view> split(std::string_view text) {
  std::vector<std::string_view> parts;
  for (;;) {
    const auto colon = text.find(':');
    parts.push_back(text.substr(0, colon));
    if (colon == std::string_view::npos) return parts;
    text.remove_prefix(colon + 1);
  }
}

std::optional<std::uint32_t> number(std::string_view text) {
  std::uint32_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

}  // namespace

std::string scrypt(std::string_view password, std::string_view salt, const ScryptCost& cost,
                   std::size_t length) {
  if (cost.log2_n < 1 || cost.log2_n > 24) return {};
  std::string out(length, '\0');
  const auto done =
      EVP_PBE_scrypt(password.data(), password.size(), bytes_of(salt).data(), salt.size(),
                     std::uint64_t{1} << cost.log2_n, cost.r, cost.p, memory_max,
                     reinterpret_cast<unsigned char*>(out.data()), out.size());
  return done == 1 ? out : std::string();
}

std::string hash_password(std::string_view password, std::span<const std::uint8_t, 16> salt,
                          const ScryptCost& cost) {
  const std::string_view salt_text(reinterpret_cast<const char*>(salt.data()), salt.size());
  const std::string hash = scrypt(password, salt_text, cost, hash_bytes);
  return "scrypt:" + std::to_string(cost.log2_n) + ":" + std::to_string(cost.r) + ":" +
         std::to_string(cost.p) + ":" + to_base64url(salt) + ":" + to_base64url(bytes_of(hash));
}

bool password_matches(std::string_view password, std::string_view stored) {
  const auto parts = split(stored);
  if (parts.size() != 6 || parts[0] != "scrypt") return false;
  const auto log2_n = number(parts[1]), r = number(parts[2]), p = number(parts[3]);
  const auto salt = from_base64url(parts[4]), hash = from_base64url(parts[5]);
  if (!log2_n || !r || !p || !salt || !hash || hash->size() != hash_bytes) return false;
  const auto found = scrypt(password, *salt, {*log2_n, *r, *p}, hash_bytes);
  return !found.empty() && equal_in_constant_time(found, *hash);
}

}  // namespace ebbwatch
