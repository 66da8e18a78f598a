// The check-in routes (FORMATS: check-in, HTTP): POST /v1/check-in, and GET or POST /v1/c/KEY.
// Turns a request into a parsed check-in with its credential, asks the sink, and says what came of
// it.
//
// Answers: 204 taken; 400, 401, 403, 429 (with Retry-After) and 503 with a problem document; 404,
// and 405 with Allow, for anything else. No answer and no text given to the sink holds a key.
#pragma once

#include <string>

#include "ingest/admission.h"
#include "ingest/check_in.h"
#include "ingest/request_handler.h"
#include "ports/clock.h"

namespace ebbwatch {

enum class CheckInAnswer {
  taken,
  unknown_controller,  ///< The key is good but the configuration no longer has the controller: 403.
  unavailable,         ///< Cannot take check-ins just now: 503, try again in 10 s.
};

/// Takes check-ins; implemented by app/. Called on the I/O thread.
class CheckInSink {
 public:
  virtual ~CheckInSink() = default;
  /// @param credential whose key it was; `parsed.controller`, where given, is the same.
  /// @param at when the request was complete.
  virtual CheckInAnswer accept(const Credential& credential, const ParsedCheckIn& parsed,
                               const std::string& remote_address, Instant at) = 0;
  /// Told of every refusal, to log or count. @param controller empty when the credential was wrong.
  /// `detail` holds no key, and outside text in it is quoted.
  virtual void refused(int status, const std::string& controller, const std::string& remote_address,
                       const std::string& detail) = 0;
};

class CheckInHandler final : public RequestHandler {
 public:
  /// All three must outlive it.
  CheckInHandler(Admission& admission, CheckInSink& sink, const Clock& clock)
      : admission_(admission), sink_(sink), clock_(clock) {}

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override;
  /// The same without a coroutine.
  HttpResponse answer(const HttpRequest& request);

 private:
  HttpResponse route(const HttpRequest& request);
  HttpResponse take(const HttpRequest& request, std::string_view capability);
  HttpResponse refuse(const HttpRequest& request, const std::string& controller, int status,
                      const std::string& detail);

  Admission& admission_;
  CheckInSink& sink_;
  const Clock& clock_;
};

}  // namespace ebbwatch
