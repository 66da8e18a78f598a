#include "notifiers/http_outcome.h"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>

#include "notifiers/answer_text.h"
#include "notifiers/retry_after.h"

namespace ebbwatch {
namespace {

std::string_view advice(int status) {
  if (status >= 300 && status < 400) return "; redirects are not followed, correct the address";
  if (status == 410) return "; the receiver wants no more calls at this address";
  if (status == 401 || status == 403) return "; check the secret or key";
  return "";
}

}  // namespace

Outcome::Kind http_status_kind(int status) {
  constexpr std::array again{408, 425, 429, 500, 502, 503, 504};
  if (status >= 200 && status < 300) return Outcome::Kind::delivered;
  if (std::find(again.begin(), again.end(), status) != again.end()) {
    return Outcome::Kind::retry_later;
  }
  return Outcome::Kind::rejected_forever;
}

Outcome unanswered_outcome(const Transfer& transfer) {
  Outcome outcome;
  outcome.answer = answer_text(transfer.error);
  switch (transfer.end) {
    case Transfer::End::not_encrypted:
    case Transfer::End::login_refused:
    case Transfer::End::bad_address:
      outcome.kind = Outcome::Kind::rejected_forever;
      break;
    case Transfer::End::not_connected:
    // A certificate also looks wrong while our own clock is, as after a power cut.
    case Transfer::End::not_trusted:
      outcome.kind = Outcome::Kind::retry_later;
      break;
    case Transfer::End::answered:
    case Transfer::End::timed_out:
    case Transfer::End::broken:
      outcome.kind = transfer.request_sent ? Outcome::Kind::unknown : Outcome::Kind::retry_later;
      break;
  }
  return outcome;
}

boost::asio::awaitable<Outcome> reach(CurlClient& client, OutgoingRequest request) {
  request.only_connect = true;
  const Transfer transfer = co_await client.request(std::move(request));
  if (transfer.end != Transfer::End::answered) co_return unanswered_outcome(transfer);
  co_return Outcome{Outcome::Kind::delivered, "it can be reached", std::nullopt};
}

Outcome http_outcome(const Transfer& transfer, WallTime now) {
  if (transfer.end != Transfer::End::answered) return unanswered_outcome(transfer);
  Outcome outcome;
  outcome.kind = http_status_kind(transfer.status);
  std::string said = "HTTP " + std::to_string(transfer.status);
  said += advice(transfer.status);
  if (!transfer.answer.empty()) said += ": " + transfer.answer;
  outcome.answer = answer_text(said);
  if (outcome.kind == Outcome::Kind::retry_later) {
    outcome.retry_after = parse_retry_after(transfer.retry_after, now);
  }
  return outcome;
}

}  // namespace ebbwatch
