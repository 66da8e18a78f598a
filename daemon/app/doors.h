// The ways into the watcher besides HTTP, put together: opened, started, stopped, and their state
// for `status`.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/json/fwd.hpp>
#include <functional>
#include <memory>
#include <vector>

#include "app/broker_door.h"
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
    std::function<void(bool answers)> broker_link;
  };
  /// All parts must outlive it.
  explicit Doors(Parts parts);

  /// Opens what the settings name and says so. @param stored what the last process knew: no
  /// datagram that it took is taken again. Errors: as UdpListener::open, BrokerDoor::make.
  Result<void> open(const Settings& settings, const std::vector<ControllerRow>& stored);
  void start();
  void stop();
  /// Adds `check_in_udp` and `check_in_mqtt` where they are open.
  void add_to(boost::json::object& status) const;

 private:
  Result<void> open_udp(const ListenAddress& at);
  void add_udp(boost::json::object& status) const;

  Parts parts_;
  DatagramDesk datagrams_;
  std::unique_ptr<UdpListener> udp_;    ///< Null: not configured.
  std::unique_ptr<BrokerDoor> broker_;  ///< Null: not configured.
};

}  // namespace ebbwatch
