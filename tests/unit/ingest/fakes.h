// Stand-ins for the outside of ingest/: a clock that tests set, bytes that count up, a sink that
// remembers.
#pragma once

#include <string>
#include <vector>

#include "crypto/controller_key.h"
#include "ingest/admission.h"
#include "ingest/check_in_handler.h"
#include "ports/clock.h"
#include "ports/entropy.h"

namespace ebbwatch::test {

class FakeClock final : public Clock {
 public:
  Instant now() const override { return at; }
  WallTime wall_now() const override { return wall; }
  void pass(Span span) {
    at = at + span;
    wall = wall + span;
  }
  Instant at = Instant::of_seconds(1000);
  WallTime wall{Span::of_s(1'618'884'473).us};
};

class CountingEntropy final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override {
    for (auto& byte : bytes) byte = next++;
  }
  std::uint8_t next = 0;
};

/// The key of a controller in these tests: 32 times one byte.
inline ControllerKey key_of(std::uint8_t byte) {
  std::array<std::uint8_t, 32> random{};
  random.fill(byte);
  return make_key(random);
}

/// lagoon-main has key_of(1), kelp-main key_of(2).
inline KeyTable two_keys() {
  const auto row = [](const std::string& controller, const ControllerKey& key) {
    return KeyRow{controller, to_hex(key.hash), {}, key.mac.to_hex()};
  };
  return KeyTable({row("lagoon-main", key_of(1)), row("kelp-main", key_of(2))});
}

inline HttpRequest post(const std::string& body = "", const std::string& key = "") {
  HttpRequest out;
  out.method = "POST";
  out.target = out.path = "/v1/check-in";
  out.fields = {{"host", "watch.example.net:8460"}, {"content-type", "application/json"}};
  if (!key.empty()) out.fields.emplace_back("authorization", "Bearer " + key);
  out.body = body;
  out.remote_address = "192.0.2.7";
  return out;
}

class RememberingSink final : public CheckInSink {
 public:
  struct Taken {
    Credential credential;
    ParsedCheckIn parsed;
    std::string address;
  };
  CheckInAnswer accept(const Credential& credential, const ParsedCheckIn& parsed,
                       const std::string& address, Instant) override {
    taken.push_back({credential, parsed, address});
    return answer;
  }
  void refused(int status, const std::string& controller, const std::string& address,
               const std::string& detail) override {
    log += std::to_string(status) + " " + controller + " " + address + " " + detail + "\n";
  }
  CheckInAnswer answer = CheckInAnswer::taken;
  std::vector<Taken> taken;
  std::string log;
};

}  // namespace ebbwatch::test
