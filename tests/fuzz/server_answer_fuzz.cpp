// What servers answer to notices: Retry-After and dates (RFC 9110), words for the log, the pattern
// of a gateway's success. First line: the field and the pattern; the rest is the answer's body.
#include "core/limits.h"
#include "fuzz.h"
#include "notifiers/answer_text.h"
#include "notifiers/retry_after.h"
#include "notifiers/sms_gateway/success_pattern.h"

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'785'067'200'000'000};
constexpr std::string_view secret = "tide-key-0001";

void look_at_field(std::string_view field) {
  const auto wait = parse_retry_after(field, now);
  MUST(!wait || (*wait >= Span{} && *wait <= limits::retry_after_max));
  const auto date = parse_http_date(field, now);
  if (date) MUST(wait && date->us % 1'000'000 == 0);
}

void look_at_words(std::string_view said) {
  const std::string line = answer_text(said);
  MUST(line.size() <= limits::answer_text_bytes_max && is_utf8(line));
  for (const char c : line) MUST(static_cast<unsigned char>(c) >= ' ' && c != 0x7F);
  MUST(answer_text(line) == line);
  const std::string with = std::string(said) + std::string(secret) + std::string(said);
  MUST(without_secret(with, secret).find(secret) == std::string::npos);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  const std::string first(in.line());
  look_at_field(first);
  look_at_words(in.rest());
  if (first.size() > 200) return 0;
  const auto pattern = SuccessPattern::compile(first);
  if (!pattern) {
    MUST(pattern.error().code == Errc::bad_input);
  } else if (first.empty()) {
    MUST(pattern.value().matches(in.rest()));
  } else {
    (void)pattern.value().matches(in.rest());
  }
  return 0;
}
