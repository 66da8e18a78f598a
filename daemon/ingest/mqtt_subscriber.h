// The connection to an MQTT broker (the only libmosquitto file). Subscribes with QoS 1, speaks MQTT
// 5 or, where the broker does not, 3.1.1, and comes back by itself: after 1 s, then ever later up
// to 30 s.
//
// Each session is a new one: what was published while we were away is lost, and that time is the
// watcher's own gap. A queue at the broker would bring old check-ins as if they were of now.
//
// The library looks names up and opens TLS without giving the thread back, so that it has a thread
// of its own; messages and news are handed to the loop in the order in which they came. When the
// loop is behind with limits::mqtt_messages_waiting_max of them, no more are read.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "ingest/broker_desk.h"
#include "ports/clock.h"

namespace ebbwatch {

struct MqttBroker {
  std::string host;
  std::uint16_t port = 1883;
  bool tls = false;
  std::string ca_file;  ///< PEM; empty: the system's certificates.
  std::string user, password;
  std::string client;               ///< Unique at the broker: a second one throws the first out.
  std::vector<std::string> topics;  ///< The first one must be granted.
};

class MqttSubscriber {
 public:
  struct Handlers {  ///< Called on the loop; never after stop().
    std::function<void(BrokerMessage)> message;
    /// The broker has taken us on or has answered once more; or it does not, and why.
    std::function<void(bool answers, const std::string& why)> link;
  };
  /// @param clock must outlive it and may be asked on another thread.
  MqttSubscriber(boost::asio::any_io_executor loop, const Clock& clock, MqttBroker broker,
                 Handlers handlers);
  /// Waits for the thread, at worst as long as the system looks a name up.
  ~MqttSubscriber();
  MqttSubscriber(const MqttSubscriber&) = delete;
  MqttSubscriber& operator=(const MqttSubscriber&) = delete;

  void start();
  void stop();

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace ebbwatch
