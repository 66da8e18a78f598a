// OpenSSL 3 offers no way to keep and set a SHA-256 state but the functions that it calls old.
#define OPENSSL_SUPPRESS_DEPRECATED
#include "crypto/mac_state.h"

#include <openssl/sha.h>

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr std::size_t block_bytes = 64;
using State = std::array<std::uint32_t, 8>;

State state_after(std::span<const std::uint8_t> block) {
  SHA256_CTX context;
  SHA256_Init(&context);
  SHA256_Update(&context, block.data(), block.size());
  State out{};
  std::copy(std::begin(context.h), std::end(context.h), out.begin());
  return out;
}

/// A context as if one block had been hashed and `state` had come of it.
SHA256_CTX context_from(const State& state) {
  SHA256_CTX context;
  SHA256_Init(&context);
  std::copy(state.begin(), state.end(), std::begin(context.h));
  context.Nl = block_bytes * 8;
  return context;
}

void put_bytes(const State& state, std::vector<std::uint8_t>& out) {
  for (const auto word : state) {
    for (int shift = 24; shift >= 0; shift -= 8) {
      out.push_back(static_cast<std::uint8_t>(word >> shift & 255U));
    }
  }
}

State take_bytes(std::span<const std::uint8_t> bytes) {
  State out{};
  for (std::size_t i = 0; i < bytes.size(); ++i) out[i / 4] = out[i / 4] << 8 | bytes[i];
  return out;
}

}  // namespace

MacState MacState::of(std::string_view key) {
  std::array<std::uint8_t, block_bytes> padded{};
  if (key.size() > block_bytes) {
    const Sha256 hashed = sha256(key);
    std::copy(hashed.begin(), hashed.end(), padded.begin());
  } else {
    std::copy(key.begin(), key.end(), padded.begin());
  }
  const auto masked_with = [&](std::uint8_t mask) {
    auto out = padded;
    for (auto& byte : out) byte = static_cast<std::uint8_t>(byte ^ mask);
    return state_after(out);
  };
  MacState out;
  out.inner_ = masked_with(0x36);
  out.outer_ = masked_with(0x5c);
  return out;
}

std::optional<MacState> MacState::from_hex(std::string_view text) {
  const auto bytes = ebbwatch::from_hex(text);
  if (!bytes || bytes->size() != 64) return std::nullopt;
  const std::span<const std::uint8_t> all = *bytes;
  MacState out;
  out.inner_ = take_bytes(all.first(32));
  out.outer_ = take_bytes(all.last(32));
  return out;
}

std::string MacState::to_hex() const {
  std::vector<std::uint8_t> bytes;
  put_bytes(inner_, bytes);
  put_bytes(outer_, bytes);
  return ebbwatch::to_hex(bytes);
}

Sha256 MacState::mac(std::string_view data) const {
  Sha256 out{};
  SHA256_CTX context = context_from(inner_);
  SHA256_Update(&context, data.data(), data.size());
  SHA256_Final(out.data(), &context);
  context = context_from(outer_);
  SHA256_Update(&context, out.data(), out.size());
  SHA256_Final(out.data(), &context);
  return out;
}

}  // namespace ebbwatch
