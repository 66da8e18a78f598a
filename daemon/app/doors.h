// The ways into the watcher besides HTTP, put together: opened, started, stopped, and their state
// for `status`.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/json/fwd.hpp>
#include <memory>
#include <vector>

#include "app/tasks.h"
#include "core/result.h"
#include "ingest/datagram_desk.h"
#include "ingest/udp_listener.h"
#include "ports/clock.h"
#include "ports/entropy.h"
#include "ports/store.h"
#include "settings/settings.h"

namespace ebbwatch {

class Doors {
 public:
  struct Parts {
    boost::asio::any_io_executor loop;
    Tasks& tasks;
    Admission& admission;
    CheckInSink& sink;
    const Clock& clock;
    Entropy& entropy;
  };
  /// All parts must outlive it.
  explicit Doors(Parts parts);

  /// Opens what the settings name and says so. @param stored what the last process knew: no
  /// datagram that it took is taken again. Errors: as UdpListener::open.
  Result<void> open(const ListenSettings& listen, const std::vector<ControllerRow>& stored);
  void start();
  void stop();
  /// Adds `check_in_udp` where it is open.
  void add_to(boost::json::object& status) const;

 private:
  Parts parts_;
  DatagramDesk datagrams_;
  std::unique_ptr<UdpListener> udp_;  ///< Null: not configured.
};

}  // namespace ebbwatch
