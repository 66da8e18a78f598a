#include "app/doors.h"

#include <boost/json/object.hpp>
#include <utility>

#include "core/limits.h"
#include "reporting/log.h"

namespace ebbwatch {

namespace json = boost::json;

Doors::Doors(Parts parts)
    : parts_(std::move(parts)), datagrams_(parts_.admission, parts_.sink, parts_.entropy) {}

Result<void> Doors::open(const Settings& settings, const std::vector<ControllerRow>& stored) {
  for (const auto& row : stored) {
    if (row.datagram_at) datagrams_.restore(row.controller, *row.datagram_at);
  }
  const ListenSettings& listen = settings.listen;
  if (listen.check_in_udp) {
    if (auto opened = open_udp(*listen.check_in_udp); !opened) return opened;
  }
  if (!listen.check_in_mqtt) return {};
  auto made = BrokerDoor::make(
      {parts_.loop, parts_.admission, parts_.sink, parts_.clock, parts_.broker_link}, settings);
  if (!made) return made.error();
  broker_ = std::move(made.value());
  say(Level::info, "listening",
      "Check-ins over MQTT through " + listen.check_in_mqtt->broker + ", topic " +
          listen.check_in_mqtt->topic + ".");
  return {};
}

Result<void> Doors::open_udp(const ListenAddress& at) {
  udp_ = std::make_unique<UdpListener>(parts_.loop, datagrams_, parts_.clock);
  const auto port = udp_->open(at.address, at.port);
  if (!port) return port.error();
  say(Level::info, "listening",
      "Check-ins over UDP at " + at.address + " port " + std::to_string(port.value()) + ".");
  if (udp_->buffer_bytes() < limits::datagram_buffer_bytes) {
    say(Level::info, "small_buffer",
        "The system gives the UDP socket a receive buffer of " +
            std::to_string(udp_->buffer_bytes() / 1024) + " KiB instead of " +
            std::to_string(limits::datagram_buffer_bytes / 1024) +
            ". With thousands of controllers set: sysctl net.core.rmem_max=" +
            std::to_string(limits::datagram_buffer_bytes));
  }
  if (const auto old = parts_.admission.keys().without_mac(); old > 0) {
    say(Level::warning, "old_keys",
        std::to_string(old) +
            " controllers have keys of an earlier version, which do for HTTP but not for UDP. "
            "Make new ones before they send datagrams: ebbwatch enrol CONTROLLER");
  }
  return {};
}

void Doors::start() {
  if (broker_) broker_->start();
  if (!udp_) return;
  parts_.tasks.start("datagram listener", Tasks::Role::essential, [this] { return udp_->run(); });
}

void Doors::stop() {
  if (udp_) udp_->stop();
  if (broker_) broker_->stop();
}

void Doors::add_to(json::object& status) const {
  if (udp_) add_udp(status);
  if (broker_) status["check_in_mqtt"] = broker_->status();
}

void Doors::add_udp(json::object& status) const {
  const auto& desk = datagrams_.counters();
  const auto socket = udp_->counters();
  status["check_in_udp"] =
      json::object{{"received", socket.received},     {"taken", desk.taken},
                   {"echo_given", desk.echo_given},   {"replayed", desk.replayed},
                   {"clock_off", desk.clock_off},     {"malformed", desk.malformed},
                   {"wrong_mac", desk.wrong_mac},     {"wrong_fields", desk.wrong_fields},
                   {"too_fast", desk.too_fast},       {"not_taken", desk.not_taken},
                   {"answered", socket.answered},     {"answers_dropped", socket.answers_dropped},
                   {"overflowed", socket.overflowed}, {"buffer_bytes", udp_->buffer_bytes()}};
}

}  // namespace ebbwatch
