// What replies, statuses and exits mean.
#include <doctest/doctest.h>

#include <string>

#include "notifiers/answer_text.h"
#include "notifiers/email/mail_outcome.h"
#include "notifiers/http_outcome.h"
#include "notifiers/program/program_notifier.h"
#include "notifiers/sms_gateway/sms_gateway_notifier.h"

using namespace ebbwatch;
using Kind = Outcome::Kind;

namespace {

constexpr WallTime now{1'700'000'000'000'000};

Transfer answered(int status, const std::string& answer = "") {
  Transfer transfer;
  transfer.end = Transfer::End::answered;
  transfer.status = status;
  transfer.request_sent = true;
  transfer.answer = answer;
  return transfer;
}

Transfer failed(Transfer::End end, int status, bool request_sent) {
  Transfer transfer;
  transfer.end = end;
  transfer.status = status;
  transfer.request_sent = request_sent;
  transfer.error = "what curl said";
  return transfer;
}

}  // namespace

// RFC 9110 §15, RFC 6585 §4, RFC 8470 §5.2; 410 and redirects: CloudEvents 1.0 webhook binding.
TEST_CASE("http_outcome: every status has its class") {
  for (const int status : {200, 201, 202, 204}) CHECK(http_status_kind(status) == Kind::delivered);
  for (const int status : {408, 425, 429, 500, 502, 503, 504}) {
    CHECK(http_status_kind(status) == Kind::retry_later);
  }
  for (const int status : {300, 301, 302, 303, 307, 308, 400, 401, 403, 404, 405, 410, 413, 415,
                           418, 422, 451, 501, 505}) {
    CHECK(http_status_kind(status) == Kind::rejected_forever);
  }
}

TEST_CASE("http_outcome: a lost answer is unknown only once the request was out") {
  using End = Transfer::End;
  CHECK(http_outcome(failed(End::timed_out, 0, true), now).kind == Kind::unknown);
  CHECK(http_outcome(failed(End::broken, 0, true), now).kind == Kind::unknown);
  CHECK(http_outcome(failed(End::timed_out, 0, false), now).kind == Kind::retry_later);
  CHECK(http_outcome(failed(End::broken, 0, false), now).kind == Kind::retry_later);
  CHECK(http_outcome(failed(End::not_connected, 0, false), now).kind == Kind::retry_later);
  CHECK(http_outcome(failed(End::not_trusted, 0, false), now).kind == Kind::retry_later);
  CHECK(http_outcome(failed(End::bad_address, 0, false), now).kind == Kind::rejected_forever);
}

TEST_CASE("http_outcome: Retry-After counts where a retry is due") {
  Transfer transfer = answered(429, "slow down");
  transfer.retry_after = "90";
  const Outcome outcome = http_outcome(transfer, now);
  CHECK(outcome.kind == Kind::retry_later);
  CHECK(outcome.retry_after == Span::of_s(90));
  CHECK(outcome.answer == "HTTP 429: slow down");
  transfer.status = 404;
  CHECK_FALSE(http_outcome(transfer, now).retry_after.has_value());
}

TEST_CASE("http_outcome: the text says what to do") {
  CHECK(http_outcome(answered(301), now).answer.find("correct the address") != std::string::npos);
  CHECK(http_outcome(answered(403), now).answer.find("check the secret") != std::string::npos);
  CHECK(http_outcome(answered(410), now).answer.find("no more calls") != std::string::npos);
}

// RFC 5321 §4.2.1 (first digit), §4.5.3.1.10 (552).
TEST_CASE("mail_outcome: the first digit of the last reply decides") {
  using End = Transfer::End;
  CHECK(mail_outcome(answered(250, "250 kept")).kind == Kind::delivered);
  CHECK(mail_outcome(failed(End::broken, 421, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 450, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 451, true)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 499, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 550, false)).kind == Kind::rejected_forever);
  CHECK(mail_outcome(failed(End::broken, 554, true)).kind == Kind::rejected_forever);
  CHECK(mail_outcome(failed(End::login_refused, 535, false)).kind == Kind::rejected_forever);
  CHECK(mail_outcome(failed(End::login_refused, 454, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 552, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 552, true)).kind == Kind::rejected_forever);
}

TEST_CASE("mail_outcome: what was said before a connection was lost is no answer") {
  using End = Transfer::End;
  CHECK(mail_outcome(failed(End::broken, 250, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 354, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 354, true)).kind == Kind::unknown);
  CHECK(mail_outcome(failed(End::timed_out, 354, true)).kind == Kind::unknown);
  CHECK(mail_outcome(failed(End::broken, 0, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::broken, 999, false)).kind == Kind::retry_later);
  CHECK(mail_outcome(failed(End::not_encrypted, 250, false)).kind == Kind::rejected_forever);
}

TEST_CASE("gateway_outcome: accepted statuses and words come before everything else") {
  SmsGatewaySettings settings;
  settings.accepted_status = {200, 409};
  const auto any = SuccessPattern::compile("").value();
  const auto kind = [&](int status, const SuccessPattern& success, const std::string& answer) {
    return gateway_outcome(settings, success, answered(status, answer), now, {}).kind;
  };
  CHECK(kind(200, any, "") == Kind::delivered);
  CHECK(kind(409, any, "duplicate") == Kind::delivered);
  CHECK(kind(202, any, "") == Kind::rejected_forever);
  CHECK(kind(500, any, "") == Kind::retry_later);
  const auto words = SuccessPattern::compile("queued|sent").value();
  CHECK(kind(200, words, "message queued") == Kind::delivered);
  CHECK(kind(200, words, "no credit") == Kind::retry_later);
  CHECK(kind(400, words, "message queued") == Kind::rejected_forever);
}

// The shape that makes backtracking matchers run for ever.
TEST_CASE("success_pattern: no pattern takes for ever") {
  const auto nested = SuccessPattern::compile("(a+)+b").value();
  CHECK_FALSE(nested.matches(std::string(100'000, 'a')));
  CHECK(nested.matches("aaab"));
  CHECK_FALSE(SuccessPattern::compile("[").ok());
  CHECK_FALSE(SuccessPattern::compile(R"((a)\1)").ok());
  const auto late = SuccessPattern::compile("OK").value();
  CHECK_FALSE(late.matches(std::string(limits::answer_matched_bytes_max, ' ') + "OK"));
}

// sysexits.h.
TEST_CASE("program: exit statuses have the meaning of sysexits") {
  const auto exit = [](int status) { return program_end_kind({status, std::nullopt}); };
  CHECK(exit(0) == Kind::delivered);
  CHECK(exit(75) == Kind::retry_later);
  for (const int status : {1, 2, 69, 71, 74, 79, 128, 255}) {
    CHECK(exit(status) == Kind::retry_later);
  }
  for (const int status : {64, 65, 66, 67, 68, 70, 72, 73, 76, 77, 78, 126, 127}) {
    CHECK(exit(status) == Kind::rejected_forever);
  }
  CHECK(program_end_kind({std::nullopt, 11}) == Kind::unknown);
}

TEST_CASE("answer_text: one line, of limited length, in UTF-8") {
  CHECK(answer_text("550-no\r\n550 such box\r\n") == "550-no 550 such box");
  CHECK(answer_text("  a\t\x1b[31m b \n") == "a [31m b");
  CHECK(answer_text("caf\xE9") == "caf?");
  CHECK(answer_text("") == "");
  const std::string text = answer_text("x" + std::string(600, '\xC3') + "y");
  CHECK(text.size() == limits::answer_text_bytes_max);
  std::string umlauts;
  for (int i = 0; i < 400; ++i) umlauts += "ä";
  CHECK(answer_text("x" + umlauts).size() == limits::answer_text_bytes_max - 1);
}

TEST_CASE("answer_text: secrets are taken out") {
  CHECK(without_secret("key=abc&x=abc", "abc") == "key=(secret)&x=(secret)");
  CHECK(without_secret("nothing", "abc") == "nothing");
  CHECK(without_secret("nothing", "") == "nothing");
}
