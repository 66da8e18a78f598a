#include "witness/seal.h"

#include <utility>

#include "crypto/digest.h"
#include "crypto/http_signature.h"
#include "text/identifier.h"

namespace ebbwatch {
namespace {

constexpr const char* label = "ebbwatch";

SealedMessage seal(std::string body, std::vector<SignedComponent> components, const Seal& with) {
  SealedMessage out;
  out.digest = content_digest(body);
  out.body = std::move(body);
  components.emplace_back("content-digest", out.digest);
  SignatureParameters parameters;
  parameters.created = with.created_s;
  parameters.key_id = with.from;
  parameters.nonce = with.nonce;
  SignatureFields fields = sign(label, components, parameters, with.key);
  out.input = std::move(fields.input);
  out.signature = std::move(fields.signature);
  return out;
}

Result<ReceivedSignature> read(const SealedMessage& sealed) {
  if (!equal_in_constant_time(sealed.digest, content_digest(sealed.body))) {
    return Error{Errc::bad_input, "Content-Digest is not the sha-256 of the body"};
  }
  return read_signature(sealed.input, sealed.signature);
}

Result<void> check(const ReceivedSignature& received, const std::vector<SignedComponent>& values,
                   const std::string& key) {
  SignatureRules rules;
  rules.clock_excused = true;
  for (const auto& [name, value] : values) rules.required.push_back(name);
  const auto value_of = [&](const std::string& name) -> std::optional<std::string> {
    for (const auto& [known, value] : values) {
      if (known == name) return value;
    }
    return std::nullopt;
  };
  return verify(received, value_of, rules, key, 0);
}

}  // namespace

SealedMessage seal_request(std::string body, const Seal& with) {
  return seal(std::move(body), {{"@method", "POST"}, {"@path", witness_path}}, with);
}

SealedMessage seal_answer(std::string body, int status, const Seal& with) {
  return seal(std::move(body), {{"@status", std::to_string(status)}}, with);
}

Result<Opened> open_request(const SealedMessage& sealed, const KeyOfWatcher& key_of) {
  const auto received = read(sealed);
  if (!received) return received.error();
  const ReceivedSignature& it = received.value();
  if (!is_identifier(it.key_id) || it.nonce.empty()) {
    return Error{Errc::bad_input, "Signature-Input needs keyid, a watcher's name, and nonce"};
  }
  const auto key = key_of(it.key_id);
  if (!key) {
    return Error{Errc::refused,
                 "\"" + it.key_id + "\" is no witness in this watcher's configuration"};
  }
  const auto fits = check(
      it, {{"@method", "POST"}, {"@path", witness_path}, {"content-digest", sealed.digest}}, *key);
  if (!fits) {
    return Error{Errc::refused, "the signature does not fit; both watchers need the same key: " +
                                    fits.error().text};
  }
  return Opened{it.key_id, it.nonce, it.created.value_or(0)};
}

Result<void> open_answer(const SealedMessage& sealed, int status, const std::string& from,
                         const Seal& asked) {
  const auto received = read(sealed);
  if (!received) return received.error();
  const ReceivedSignature& it = received.value();
  if (it.key_id != from) return Error{Errc::refused, "the answer is not signed by " + from};
  if (it.nonce != asked.nonce) return Error{Errc::refused, "the answer is to another question"};
  return check(it, {{"@status", std::to_string(status)}, {"content-digest", sealed.digest}},
               asked.key);
}

}  // namespace ebbwatch
