#include "crypto/http_signature.h"

#include <algorithm>

#include "crypto/digest.h"

namespace ebbwatch {
namespace {

/// RFC 8941 §4.1.6: only the quote and the backslash are escaped.
std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

std::string parameters_text(const std::vector<SignedComponent>& components,
                            const SignatureParameters& parameters) {
  std::string out = "(";
  for (const auto& [name, value] : components) {
    if (out.size() > 1) out += ' ';
    out += quoted(name);
  }
  out += ");created=" + std::to_string(parameters.created);
  if (!parameters.key_id.empty()) out += ";keyid=" + quoted(parameters.key_id);
  if (!parameters.nonce.empty()) out += ";nonce=" + quoted(parameters.nonce);
  if (parameters.name_algorithm) out += ";alg=\"hmac-sha256\"";
  return out;
}

std::string base_text(const std::vector<SignedComponent>& components,
                      const std::string& parameters) {
  std::string out;
  for (const auto& [name, value] : components) out += quoted(name) + ": " + value + '\n';
  return out + "\"@signature-params\": " + parameters;
}

std::string bytes_of(const Sha256& digest) {
  return {digest.begin(), digest.end()};
}

Result<void> check_times(const ReceivedSignature& received, const SignatureRules& rules,
                         std::int64_t now_s) {
  if (received.expires && *received.expires < now_s) {
    return Error{Errc::refused, "The signature has expired (its parameter expires has passed)."};
  }
  if (rules.clock_excused) return {};
  if (!received.created) {
    return Error{Errc::bad_input,
                 "The signature has no created parameter; add created=UNIX-SECONDS."};
  }
  const std::int64_t tolerance_s = rules.created_tolerance.us / 1'000'000;
  if (*received.created < now_s - tolerance_s || *received.created > now_s + tolerance_s) {
    return Error{Errc::refused, "The signature's created parameter is more than " +
                                    std::to_string(tolerance_s) +
                                    " s away from this watcher's clock; set the sender's clock."};
  }
  return {};
}

bool covers(const ReceivedSignature& received, const std::string& name) {
  return std::find(received.components.begin(), received.components.end(), name) !=
         received.components.end();
}

}  // namespace

std::string signature_base(const std::vector<SignedComponent>& components,
                           const SignatureParameters& parameters) {
  return base_text(components, parameters_text(components, parameters));
}

SignatureFields sign(const std::string& label, const std::vector<SignedComponent>& components,
                     const SignatureParameters& parameters, std::string_view key) {
  const std::string text = parameters_text(components, parameters);
  const Sha256 mac = hmac_sha256(key, base_text(components, text));
  return {.input = label + '=' + text, .signature = label + "=:" + to_base64(mac) + ':'};
}

Result<void> verify(const ReceivedSignature& received, const ComponentValue& value_of,
                    const SignatureRules& rules, std::string_view key, std::int64_t now_s) {
  for (const auto& name : rules.required) {
    if (!covers(received, name)) {
      return Error{Errc::bad_input,
                   "The signature does not cover " + quoted(name) + "; sign it too."};
    }
  }
  if (auto in_time = check_times(received, rules, now_s); !in_time) return in_time;
  std::vector<SignedComponent> components;
  for (const auto& name : received.components) {
    auto value = value_of(name);
    if (!value) {
      return Error{Errc::bad_input,
                   "The signature covers " + quoted(name) + ", which the message does not have."};
    }
    components.emplace_back(name, std::move(*value));
  }
  const Sha256 mac = hmac_sha256(key, base_text(components, received.parameters));
  if (!equal_in_constant_time(bytes_of(mac), received.signature)) {
    return Error{Errc::refused, "The signature does not fit the message and the key."};
  }
  return {};
}

}  // namespace ebbwatch
