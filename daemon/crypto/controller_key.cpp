#include "crypto/controller_key.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr std::string_view prefix = "ebb1_";
constexpr std::size_t digits = 43;  // ceil(256 / 6)

std::string_view as_text(std::span<const std::uint8_t> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace

ControllerKey make_key(std::span<const std::uint8_t, 32> random) {
  ControllerKey out;
  out.text = std::string(prefix) + to_base64url(random);
  out.hash = sha256(as_text(random));
  out.mac = MacState::of(out.text);
  return out;
}

std::optional<Sha256> key_hash(std::string_view key_text) {
  if (!key_text.starts_with(prefix) || key_text.size() != prefix.size() + digits) {
    return std::nullopt;
  }
  const auto bytes = from_base64url(key_text.substr(prefix.size()));
  if (!bytes) return std::nullopt;
  return sha256(*bytes);
}

std::string without_keys(std::string text) {
  constexpr std::string_view shown = "ebb1_(hidden)";
  const auto in_key = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
           c == '_';
  };
  for (auto at = text.find(prefix); at != text.npos; at = text.find(prefix, at + shown.size())) {
    auto end = at + prefix.size();
    while (end < text.size() && in_key(text[end])) ++end;
    text.replace(at, end - at, shown);
  }
  return text;
}

}  // namespace ebbwatch
