// The pages behind the links in notices: GET shows who would take on what and changes nothing (mail
// scanners and previews of links fetch addresses), POST takes the outage on. Plain HTML without
// script, nothing from elsewhere. The token is never logged.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <utility>

#include "app/answer_book.h"
#include "ingest/rate.h"
#include "ingest/request_handler.h"
#include "ports/clock.h"
#include "words/language.h"

namespace ebbwatch {

/// What the page needs to know and do; implemented by the engine's side.
class AnswerSink {
 public:
  struct Question {
    bool running = false;
    std::string title;     ///< "Lagoon reef"
    std::string since;     ///< "since 14:02", in the language that was asked for.
    std::string taken_by;  ///< Who has it by now; empty: nobody.
    bool drill = false;
  };
  virtual ~AnswerSink() = default;
  virtual Question question(OutageId outage, Language language) const = 0;
  virtual Language language_of(const std::string& keyholder) const = 0;
  virtual std::string name_of(const std::string& keyholder) const = 0;
  /// @return false when the outage has ended meanwhile.
  virtual bool answer_by_link(const LinkRow& link) = 0;
};

class AnswerPage final : public RequestHandler {
 public:
  static constexpr std::string_view prefix = "/v1/answer/";

  /// All must outlive it. @param stored awaited between an answer and the page that confirms it.
  AnswerPage(AnswerBook& book, AnswerSink& sink, const Clock& clock,
             std::function<boost::asio::awaitable<void>()> stored = {})
      : book_(book), sink_(sink), clock_(clock), stored_(std::move(stored)) {}

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override;
  /// The same without a coroutine. Answers: 200; 404 never given; 405; 410 the outage is over; 429
  /// with Retry-After to senders who try many wrong links.
  HttpResponse answer(const HttpRequest& request);

 private:
  HttpResponse unknown(const HttpRequest& request);
  HttpResponse ask(const LinkRow& link);
  HttpResponse take(const LinkRow& link);

  AnswerBook& book_;
  AnswerSink& sink_;
  const Clock& clock_;
  std::function<boost::asio::awaitable<void>()> stored_;
  WrongCredentials wrong_;
};

}  // namespace ebbwatch
