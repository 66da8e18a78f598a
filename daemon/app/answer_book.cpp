#include "app/answer_book.h"

#include <algorithm>
#include <array>

#include "crypto/digest.h"

namespace ebbwatch {
namespace {

constexpr std::size_t token_bytes = 20;  // 160 bits: W3C TAG on capability URLs asks for 120.
constexpr std::size_t token_chars = 27;  // of base64url
/// Kept in memory; the oldest are of outages that ended long ago.
constexpr std::size_t links_max = 10'000;
constexpr std::uint64_t codes = 9'000;   // 1000 to 9999
constexpr std::uint64_t stride = 4'001;  // Without common factor with `codes`: all are used.

std::string hash_of(std::string_view token) {
  return to_hex(sha256(token));
}

}  // namespace

AnswerBook::AnswerBook(const Clock& clock, Entropy& entropy, std::function<void(LinkRow)> keep)
    : clock_(clock), entropy_(entropy), keep_(std::move(keep)) {}

void AnswerBook::restore(const std::vector<LinkRow>& rows) {
  for (const auto& row : rows) by_hash_[row.token_hash] = row;
}

void AnswerBook::use(const Settings& settings) {
  if (public_url_ != settings.listen.public_url) given_.clear();
  public_url_ = settings.listen.public_url;
  texts_come_in_ = std::any_of(
      settings.notifiers.begin(), settings.notifiers.end(), [](const NotifierSettings& one) {
        return one.kind == NotifierKind::gsm_modem || one.sms_gateway.calls.has_value();
      });
}

std::string AnswerBook::code_of(OutageId outage) {
  return std::to_string(1000 + outage % codes * stride % codes);
}

std::string AnswerBook::code(OutageId outage, const std::string&) {
  return texts_come_in_ ? code_of(outage) : std::string();
}

std::string AnswerBook::link(OutageId outage, const std::string& keyholder,
                             const std::string& notifier) {
  if (public_url_.empty()) return {};
  std::string& given = given_[{outage, keyholder, notifier}];
  if (!given.empty()) return given;
  std::array<std::uint8_t, token_bytes> random{};
  entropy_.fill(random);
  const std::string token = to_base64url(random);
  const LinkRow row{hash_of(token), outage, keyholder, clock_.wall_now(), {}, notifier};
  if (by_hash_.size() >= links_max) {
    by_hash_.erase(std::min_element(
        by_hash_.begin(), by_hash_.end(),
        [](const auto& a, const auto& b) { return a.second.made_at < b.second.made_at; }));
  }
  by_hash_[row.token_hash] = row;
  keep_(row);
  given = public_url_ + "/v1/answer/" + token;
  return given;
}

const LinkRow* AnswerBook::find(std::string_view token) const {
  if (token.size() != token_chars) return nullptr;
  const std::string hash = hash_of(token);
  const auto found = by_hash_.find(hash);
  // The order of hashes of guesses tells nothing of the tokens; the last look is constant in time.
  if (found == by_hash_.end() || !equal_in_constant_time(found->first, hash)) return nullptr;
  return &found->second;
}

void AnswerBook::mark_used(const LinkRow& row) {
  LinkRow& kept = by_hash_[row.token_hash];
  kept.used_at = clock_.wall_now();
  keep_(kept);
}

}  // namespace ebbwatch
