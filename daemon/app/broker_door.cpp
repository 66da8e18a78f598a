#include "app/broker_door.h"

#include <boost/json/object.hpp>
#include <boost/url/parse.hpp>
#include <boost/url/url_view.hpp>
#include <filesystem>

#include "core/invariant.h"
#include "reporting/log.h"
#include "settings/files.h"
#include "settings/secrets.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr std::uint16_t plain_port = 1883, tls_port = 8883;  // IANA: mqtt, secure-mqtt.

Result<MqttBroker> broker_of(const Settings& settings) {
  const MqttSettings& mqtt = *settings.listen.check_in_mqtt;
  const auto url = boost::urls::parse_uri(mqtt.broker);
  INVARIANT(url.has_value());  // The settings were checked.
  MqttBroker broker;
  broker.host = url->host_address();
  broker.tls = url->scheme() == "mqtts";
  broker.port = url->has_port() ? url->port_number() : broker.tls ? tls_port : plain_port;
  broker.user = mqtt.user;
  broker.client = "ebbwatch-" + settings.watcher.name;
  if (mqtt.password.given()) {
    auto password = read_secret(mqtt.password, settings.file);
    if (!password) return password.error();
    broker.password = std::move(password.value());
  }
  if (mqtt.ca_file.given()) {
    broker.ca_file = beside(mqtt.ca_file.name, settings.file);
    std::error_code error;
    if (!std::filesystem::is_regular_file(broker.ca_file, error)) {
      return Error{Errc::not_found, "listen.check_in_mqtt.ca_file: there is no file " +
                                        broker.ca_file + ". Name the broker's CA certificate."};
    }
  }
  return broker;
}

}  // namespace

Result<std::unique_ptr<BrokerDoor>> BrokerDoor::make(Parts parts, const Settings& settings) {
  auto broker = broker_of(settings);
  if (!broker) return broker.error();
  return std::unique_ptr<BrokerDoor>(
      new BrokerDoor(std::move(parts), *settings.listen.check_in_mqtt, std::move(broker.value())));
}

BrokerDoor::BrokerDoor(Parts parts, const MqttSettings& settings, MqttBroker broker)
    : parts_(std::move(parts)),
      address_(settings.broker),
      desk_(parts_.admission, parts_.sink,
            {TopicPattern(settings.topic), settings.require_key,
             [](const std::string& controller) {
               say(Level::info, "controller_left",
                   controller +
                       " has left the MQTT broker, or was lost by it. That alone is no loss.");
             }}),
      since_(parts_.clock.wall_now()) {
  broker.topics = {settings.topic};
  if (desk_.leaving()) broker.topics.push_back(desk_.leaving()->text());
  subscriber_ = std::make_unique<MqttSubscriber>(
      parts_.loop, parts_.clock, std::move(broker),
      MqttSubscriber::Handlers{
          [this](const BrokerMessage& message) { desk_.take(message, parts_.clock.now()); },
          [this](bool answers, const std::string& why) { heard(answers, why); }});
  parts_.link(false);
}

void BrokerDoor::heard(bool answers, const std::string& why) {
  if (answers_ != answers) since_ = parts_.clock.wall_now();
  if (answers && answers_ != true) {
    say(Level::info, "broker_answers", "The MQTT broker " + address_ + " has taken us on.");
  } else if (!answers && (answers_ != false || why_ != why)) {
    say(Level::warning, "broker_silent",
        "The MQTT broker " + address_ + " cannot be used: " + why +
            ". Until it can, nobody who checks in through it is taken for lost. Trying again.");
  }
  answers_ = answers;
  why_ = why;
  parts_.link(answers);
}

json::object BrokerDoor::status() const {
  const auto& desk = desk_.counters();
  return {{"broker", address_},
          {"state", !answers_   ? "connecting"
                    : *answers_ ? "working"
                                : "not_answering"},
          {"since", to_rfc3339(since_)},
          {"why", why_},
          {"taken", desk.taken},
          {"leaving", desk.leaving},
          {"retained", desk.retained},
          {"other_topic", desk.other_topic},
          {"malformed", desk.malformed},
          {"too_long", desk.too_long},
          {"wrong_key", desk.wrong_key},
          {"too_fast", desk.too_fast},
          {"not_taken", desk.not_taken}};
}

}  // namespace ebbwatch
