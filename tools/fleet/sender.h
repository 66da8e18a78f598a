// Sends check-ins over HTTP, many at once, without waiting for any of them (libcurl's multi
// interface).
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

namespace ebbwatch::fleet {

class Sender {
 public:
  /// @param status of the answer, 0 when there was none; `text` says why, or the problem's detail.
  using Done = std::function<void(std::uint64_t tag, long status, const std::string& text)>;

  /// @param connections how many connections are kept open at most.
  Sender(std::string url, long connections, Done done);
  ~Sender();
  Sender(const Sender&) = delete;
  Sender& operator=(const Sender&) = delete;

  /// Starts one POST to /v1/check-in. @param tag comes back in Done.
  void send(std::uint64_t tag, const std::string& key, const std::string& body);
  /// Carries transfers on for at most so long; calls Done for those that have ended.
  void carry_on(std::chrono::milliseconds at_most);
  std::size_t under_way() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace ebbwatch::fleet
