// Sealed messages between watchers (witness/seal.h). Lines: nonce, place of a flipped bit,
// Content-Digest, Signature-Input, Signature; the rest is the body.
#include "witness/seal.h"

#include <charconv>

#include "fuzz.h"

using namespace ebbwatch;

namespace {

const std::string key = "thirty-two bytes that are shared";

std::optional<std::string> key_of(const std::string& from) {
  return from == "harbour" ? std::optional(key) : std::nullopt;
}

std::size_t number(std::string_view text) {
  std::size_t out = 0;
  (void)std::from_chars(text.data(), text.data() + text.size(), out);
  return out;
}

/// Changes one bit somewhere; false when there is nothing to change.
bool flip(SealedMessage& sealed, std::size_t place) {
  for (std::string* part : {&sealed.body, &sealed.digest, &sealed.input, &sealed.signature}) {
    if (place / 8 >= part->size()) {
      place -= part->size() * 8;
      continue;
    }
    char& c = (*part)[place / 8];
    c = static_cast<char>(c ^ (1 << place % 8));
    return true;
  }
  return false;
}

void seal_and_open(const std::string& nonce, std::size_t place, const std::string& body) {
  const Seal with{"harbour", key, nonce, 1'618'884'473};
  const SealedMessage request = seal_request(body, with);
  const auto opened = open_request(request, key_of);
  MUST(!opened || (opened.value().from == "harbour" && opened.value().nonce == nonce));
  const SealedMessage answer = seal_answer(body, 200, with);
  const bool good = open_answer(answer, 200, "harbour", with).ok();
  MUST(opened.ok() == (good && !nonce.empty()));
  if (!good) return;
  MUST(!open_answer(answer, 401, "harbour", with));
  MUST(!open_answer(answer, 200, "breakwater", with));
  MUST(!open_request(answer, key_of));  // An answer is no question.
  MUST(!open_answer(answer, 200, "harbour", Seal{"harbour", key, nonce + "x", 0}));
  SealedMessage touched = request;
  // The last bits of base64 and the case of a label carry nothing, so only the body is claimed.
  if (!nonce.empty() && flip(touched, place % (8 * body.size() + 1)) && touched.body != body) {
    MUST(!open_request(touched, key_of));
  }
  touched = request;
  if (flip(touched, place)) (void)open_request(touched, key_of);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  const std::string nonce(in.line());
  const std::size_t place = number(in.line());
  SealedMessage sealed;
  sealed.digest = in.line();
  sealed.input = in.line();
  sealed.signature = in.line();
  sealed.body = in.rest();
  const auto opened = open_request(sealed, key_of);
  if (!opened) MUST(fuzz::is_sentence(opened.error().text));
  bool printable = nonce.size() <= 64;
  for (const char c : nonce) printable = printable && c >= ' ' && c <= '~';
  if (printable) seal_and_open(nonce, place, sealed.body);
  return 0;
}
