#include "notifiers/email/mail_outcome.h"

#include "notifiers/answer_text.h"
#include "notifiers/http_outcome.h"

namespace ebbwatch {
namespace {

// The server has refused only when its last reply says so; "354 go on" and then silence is not
// that.
Outcome::Kind refusal_kind(const Transfer& transfer) {
  const bool too_many_recipients = transfer.status == 552 && !transfer.request_sent;
  if (transfer.status >= 500 && !too_many_recipients) return Outcome::Kind::rejected_forever;
  return Outcome::Kind::retry_later;
}

std::string said(const Transfer& transfer) {
  return answer_text(transfer.answer.empty() ? transfer.error : "SMTP " + transfer.answer);
}

}  // namespace

Outcome mail_outcome(const Transfer& transfer) {
  if (transfer.end == Transfer::End::answered) {
    return {Outcome::Kind::delivered, said(transfer), std::nullopt};
  }
  if (transfer.status >= 400 && transfer.status < 600) {
    return {refusal_kind(transfer), said(transfer), std::nullopt};
  }
  Outcome outcome = unanswered_outcome(transfer);
  if (transfer.end == Transfer::End::login_refused) {
    outcome.answer += "; check user, password and starttls";
  }
  if (transfer.end == Transfer::End::not_encrypted) {
    outcome.answer += "; the server offers no STARTTLS";
  }
  return outcome;
}

}  // namespace ebbwatch
