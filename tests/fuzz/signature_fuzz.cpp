// Signature-Input and Signature (crypto/http_signature.h; RFC 9421, RFC 8941). First line: the
// input, second: the signature.
#include "crypto/digest.h"
#include "crypto/http_signature.h"
#include "fuzz.h"

using namespace ebbwatch;

namespace {

constexpr std::string_view key = "thirty-two bytes that are shared";

std::optional<std::string> value_of(const std::string& name) {
  if (name == "@method") return "POST";
  if (name == "@path") return "/v1/witness";
  if (name == "content-digest") return "sha-256=:AAAA:";
  return std::nullopt;
}

/// RFC 9421 §2.5, written here anew.
std::string base_of(const ReceivedSignature& it) {
  std::string out;
  for (const std::string& name : it.components) {
    out += "\"" + name + "\": " + value_of(name).value_or("") + "\n";
  }
  return out + "\"@signature-params\": " + it.parameters;
}

std::string bytes_of(const Sha256& hash) {
  return {reinterpret_cast<const char*>(hash.data()), hash.size()};
}

void believe_only_the_key(ReceivedSignature it) {
  SignatureRules rules;
  rules.clock_excused = true;
  const auto fits = [&] { return verify(it, value_of, rules, key, 1'618'884'473).ok(); };
  const std::string right = bytes_of(hmac_sha256(key, base_of(it)));
  MUST(!fits() || it.signature == right);
  it.signature = right;
  if (!fits()) return;  // Something else is wrong: no `created`, a component that is not there.
  it.signature.back() = static_cast<char>(it.signature.back() ^ 1);
  MUST(!fits());
}

/// What we write ourselves is read as it was meant.
void read_our_own(const ReceivedSignature& it) {
  std::vector<SignedComponent> components;
  for (const std::string& name : it.components) components.emplace_back(name, "x");
  SignatureParameters parameters;
  parameters.created = it.created.value_or(1);
  parameters.key_id = it.key_id;
  parameters.nonce = it.nonce;
  const auto fields = sign("s", components, parameters, key);
  const auto again = read_signature(fields.input, fields.signature);
  if (fields.input.size() > 4096) return;
  MUST(again);
  MUST(again.value().components == it.components && again.value().key_id == it.key_id);
  MUST(again.value().nonce == it.nonce && again.value().created == parameters.created);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  const auto input = in.line();
  const auto read = read_signature(input, in.line());
  if (!read) {
    MUST(read.error().code == Errc::bad_input && fuzz::is_sentence(read.error().text));
    return 0;
  }
  const ReceivedSignature& it = read.value();
  MUST(!it.label.empty() && !it.signature.empty() && it.components.size() <= 32);
  MUST(input.find(it.parameters) != input.npos);
  believe_only_the_key(it);
  read_our_own(it);
  return 0;
}
