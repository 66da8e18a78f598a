// Requests to the check-in door: addresses with a capability, bearer keys, signatures
// (ingest/check_in_handler.h). Lines: method and target; header fields up to an empty line; then
// the body. $KEY1 and $KEY2 stand for keys that hold; a field `x-sign: NONCE` has the request
// signed with the first.
#include "ingest/check_in_handler.h"

#include <algorithm>

#include "fuzz.h"
#include "unit/ingest/fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

const std::string& key_text(std::uint8_t which) {
  static const std::string keys[] = {key_of(1).text, key_of(2).text};
  return keys[which];
}

std::string with_keys(std::string_view text) {
  return fuzz::replaced(fuzz::replaced(std::string(text), "$KEY1", key_text(0)), "$KEY2",
                        key_text(1));
}

void sign_it(HttpRequest& request, const std::string& nonce, WallTime now) {
  request.fields.emplace_back("content-digest", content_digest(request.body));
  std::vector<SignedComponent> components;
  for (const char* name : {"@method", "@authority", "@path", "content-digest"}) {
    components.emplace_back(name, component_value(request, name).value_or(""));
  }
  const Sha256 hash = key_of(1).hash;
  const auto fields = sign("s", components, {now.us / 1'000'000, "lagoon-main", nonce, true},
                           {reinterpret_cast<const char*>(hash.data()), hash.size()});
  request.fields.emplace_back("signature-input", fields.input);
  request.fields.emplace_back("signature", fields.signature);
}

HttpRequest request_of(fuzz::Input& in, WallTime now) {
  HttpRequest out;
  const std::string first = with_keys(in.line());
  const auto blank = first.find(' ');
  out.method = first.substr(0, blank);
  set_target(out, blank == first.npos ? "" : std::string_view(first).substr(blank + 1));
  out.remote_address = "192.0.2.7";
  std::string nonce;
  while (!in.empty()) {
    const std::string field = with_keys(in.line());
    if (field.empty()) break;
    const auto colon = std::min(field.find(':'), field.size());
    const auto value = field.find_first_not_of(' ', std::min(colon + 1, field.size()));
    out.fields.emplace_back(lower_case(field.substr(0, colon)),
                            value == field.npos ? "" : field.substr(value));
    if (out.fields.back().first == "x-sign") nonce = out.fields.back().second;
  }
  out.body = in.rest();
  if (!nonce.empty()) sign_it(out, nonce, now);
  return out;
}

bool is_told(const std::string& text) {
  return text.find(key_text(0)) != text.npos || text.find(key_text(1)) != text.npos;
}

/// A check-in is taken only from somebody who has shown a key, or signed with one.
void look_at_taken(const RememberingSink& sink, const HttpRequest& request) {
  MUST(sink.taken.size() == 1);
  const Credential& by = sink.taken[0].credential;
  MUST(by.controller == "lagoon-main" || by.controller == "kelp-main");
  MUST(!sink.taken[0].parsed.controller || *sink.taken[0].parsed.controller == by.controller);
  const std::string& key = key_text(by.controller == "lagoon-main" ? 0 : 1);
  if (by.kind == Credential::Kind::capability) {
    MUST(request.path == "/v1/c/" + key);
  } else if (by.kind == Credential::Kind::bearer) {
    MUST(request.field("authorization").value_or("").ends_with(key));
  } else {
    MUST(by.kind == Credential::Kind::signature && by.controller == "lagoon-main");
  }
}

void look_at_answer(const HttpResponse& answer) {
  static const std::vector<int> known{204, 400, 401, 403, 404, 405, 429};
  MUST(std::find(known.begin(), known.end(), answer.status) != known.end());
  MUST(!is_told(answer.body) && is_utf8(answer.body));
  for (const auto& [name, value] : answer.fields) MUST(fuzz::is_field_value(value));
  if (answer.status != 204) MUST(answer.content_type == "application/problem+json");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission(entropy);
  admission.replace_keys(two_keys());
  RememberingSink sink;
  CheckInHandler door(admission, sink, clock);
  const HttpRequest request = request_of(in, clock.wall);
  const HttpResponse answer = door.answer(request);
  look_at_answer(answer);
  MUST(!is_told(sink.log));
  if (answer.status == 204) {
    look_at_taken(sink, request);
  } else {
    MUST(sink.taken.empty());
  }
  // What was signed is good once.
  if (sink.taken.size() == 1 && sink.taken[0].credential.kind == Credential::Kind::signature) {
    MUST(door.answer(request).status == 401);
  }
  MUST(address_group(request.path).size() <= request.path.size() + 50);
  return 0;
}
