// Whether another watcher could be asked at a moment of a trace: it is running and its own link
// works.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/ids.h"
#include "core/time.h"

namespace ebbwatch {

class WitnessPresence {
 public:
  /// @param uplink_quorum how many of the references that it checks must answer. @param silence
  /// after so long without an uplink row it was not running.
  WitnessPresence(std::uint32_t uplink_quorum, Span silence);

  void on_start(Instant at);
  void on_stop();
  void on_heard(Instant at);
  void on_uplink(Instant at, std::string_view reference, bool answered);
  /// When it stops to count as running if nothing more comes; never() when that cannot be said.
  Instant gone_at() const;
  void on_gone() { running_ = false; }
  bool reachable() const { return running_ && link_works_; }

 private:
  void begin_running();

  struct Reference {
    std::string name;
    bool answered;
  };
  std::uint32_t uplink_quorum_;
  Span silence_;
  std::vector<Reference> references_;
  bool running_ = false;
  bool link_works_ = true;
  bool writes_uplink_rows_ = false;
  Instant last_sign_;
};

}  // namespace ebbwatch
