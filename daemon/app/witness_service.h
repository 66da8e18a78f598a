// Carries messages between this watcher and its witnesses: POST /v1/witness on the check-in
// listener, and requests of our own by libcurl. Signs, checks, and keeps replays out; what the
// messages mean is the engine's. Lives on the loop.
//
// Answers to a request: 200 with a signed message; 401 with a signed message that holds a nonce,
// for one that is rightly signed but not with a nonce of ours; 400 malformed, 401 unknown or wrong
// key, 405, 429 after many wrong ones from one sender: problem documents.
#pragma once

#include <map>
#include <string>

#include "app/engine.h"
#include "app/tasks.h"
#include "ingest/nonces.h"
#include "ingest/rate.h"
#include "ingest/request_handler.h"
#include "notifiers/curl_client.h"
#include "witness/seal.h"

namespace ebbwatch {

class WitnessService final : public RequestHandler {
 public:
  struct Parts {
    boost::asio::any_io_executor loop;
    Tasks& tasks;
    const Clock& clock;
    Entropy& entropy;
    Engine& engine;
  };
  explicit WitnessService(Parts parts);

  /// Reads the keys. Errors: what read_secret() says, or a key that is too short.
  static Result<std::map<std::string, std::string>> read_keys(const Settings& settings);
  void use(const Settings& settings, std::map<std::string, std::string> keys);

  /// Sends what is due.
  void pump();
  void stop() { stopping_ = true; }

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override;
  /// The same without a coroutine.
  HttpResponse answer(const HttpRequest& request);

 private:
  struct Address {
    std::string url;
    std::string nonce;  ///< Given by it for our next request; empty: none.
    bool refused = false;
  };

  boost::asio::awaitable<void> talk(std::string to, WitnessMessage message);
  boost::asio::awaitable<Result<WitnessMessage>> exchange(std::string to, std::string body);
  HttpResponse sealed(int status, const WitnessMessage& message, const std::string& nonce);
  HttpResponse refuse(const HttpRequest& request, int status, const std::string& why);
  std::string fresh_nonce();
  std::int64_t now_s() const { return parts_.clock.wall_now().us / 1'000'000; }
  void note(const std::string& to, const Result<WitnessMessage>& got);

  Parts parts_;
  CurlClient curl_;
  std::string own_;
  std::map<std::string, std::string> keys_;
  std::map<std::string, Address> addresses_;
  GivenNonces given_;
  WrongCredentials wrong_;
  bool stopping_ = false;
};

}  // namespace ebbwatch
