#include "notifiers/webhook/signed_request.h"

#include <algorithm>
#include <boost/url/parse.hpp>
#include <boost/url/url_view.hpp>

#include "crypto/digest.h"
#include "crypto/http_signature.h"

namespace ebbwatch {
namespace {

std::string lower(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

std::string content_type(const OutgoingRequest& request) {
  for (const auto& [name, value] : request.headers) {
    if (lower(name) == "content-type") return value;
  }
  return "";
}

}  // namespace

Result<SignedAddress> read_address(const std::string& url) {
  const auto parsed = boost::urls::parse_uri(url);
  if (!parsed || parsed->host().empty()) {
    return Error{Errc::bad_input, "url: not an http or https address"};
  }
  const std::string scheme = lower(std::string(parsed->scheme()));
  const std::string port(parsed->port());
  if (scheme != "http" && scheme != "https") {
    return Error{Errc::bad_input, "url: only http and https can be called"};
  }
  SignedAddress address;
  address.authority = lower(std::string(parsed->encoded_host()));
  const bool usual_port = port.empty() || port == (scheme == "https" ? "443" : "80");
  if (!usual_port) address.authority += ":" + port;
  address.path = std::string(parsed->encoded_path());
  if (address.path.empty()) address.path = "/";
  if (parsed->has_query()) address.query = "?" + std::string(parsed->encoded_query());
  return address;
}

void sign_request(OutgoingRequest& request, const SignedAddress& address,
                  const std::optional<SigningKey>& key, WallTime now, const std::string& nonce) {
  const std::string digest = content_digest(request.body);
  request.headers.emplace_back("Content-Digest", digest);
  if (!key) return;
  std::vector<SignedComponent> components{
      {"@method", "POST"}, {"@authority", address.authority}, {"@path", address.path}};
  if (!address.query.empty()) components.emplace_back("@query", address.query);
  components.emplace_back("content-type", content_type(request));
  components.emplace_back("content-digest", digest);
  SignatureParameters parameters;
  parameters.created = now.us / 1'000'000;
  parameters.key_id = key->id;
  parameters.nonce = nonce;
  const SignatureFields fields = sign("ebbwatch", components, parameters, key->bytes);
  request.headers.emplace_back("Signature-Input", fields.input);
  request.headers.emplace_back("Signature", fields.signature);
}

}  // namespace ebbwatch
