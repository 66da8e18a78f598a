// Check-ins through an MQTT broker: the connection, the desk behind it, what is told of the broker
// itself, and its state for `status`.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/json/fwd.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "core/result.h"
#include "ingest/broker_desk.h"
#include "ingest/mqtt_subscriber.h"
#include "ports/clock.h"
#include "settings/settings.h"

namespace ebbwatch {

class BrokerDoor {
 public:
  struct Parts {
    boost::asio::any_io_executor loop;
    Admission& admission;
    CheckInSink& sink;
    const Clock& clock;
    std::function<void(bool answers)> link;  ///< Told of each proof, see BrokerLink.
  };
  /// Nothing is connected yet. @param settings with listen.check_in_mqtt; its relative paths start
  /// from settings.file. Errors: as read_secret(); not_found (ca_file).
  static Result<std::unique_ptr<BrokerDoor>> make(Parts parts, const Settings& settings);

  void start() { subscriber_->start(); }
  void stop() { subscriber_->stop(); }
  boost::json::object status() const;

 private:
  BrokerDoor(Parts parts, const MqttSettings& settings, MqttBroker broker);
  void heard(bool answers, const std::string& why);

  Parts parts_;
  std::string address_;
  BrokerDesk desk_;
  std::unique_ptr<MqttSubscriber> subscriber_;
  std::optional<bool> answers_;  ///< Empty: not asked yet.
  WallTime since_;
  std::string why_;
};

}  // namespace ebbwatch
