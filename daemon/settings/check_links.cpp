#include "settings/check.h"

namespace ebbwatch {
namespace {

void check_references(const WatcherSettings& watcher, std::vector<Finding>& out) {
  for (std::size_t i = 0; i < watcher.uplink_references.size(); ++i) {
    const UplinkReference& reference = watcher.uplink_references[i];
    const std::string path = indexed("watcher.uplink_references", i);
    if (reference.target.empty()) {
      out.push_back({path, "nothing to ask", "tcp: HOST:PORT or http: URL", ""});
    } else if (reference.kind == UplinkReference::Kind::tcp) {
      note(host_port_fault(reference.target), path + ".tcp", out);
    } else {
      note(url_fault(reference.target, {"https", "http"}), path + ".http", out);
    }
  }
  const std::size_t count = watcher.uplink_references.size();
  if (watcher.uplink_quorum <= count) return;
  out.push_back({"watcher.uplink_quorum",
                 std::to_string(watcher.uplink_quorum) + " of " + std::to_string(count) +
                     " uplink_references",
                 "from 0 to " + std::to_string(count),
                 count == 0 ? "Give at least one reference, or write 0." : ""});
}

void check_ports(const ListenSettings& listen, std::vector<Finding>& out) {
  const auto& http = listen.check_in_http;
  const auto& board = listen.board;
  if (http) note(listen_address_fault(http->address), "listen.check_in_http.address", out);
  if (board) note(listen_address_fault(board->address), "listen.board.address", out);
  if (listen.check_in_udp) {
    note(listen_address_fault(listen.check_in_udp->address), "listen.check_in_udp.address", out);
  }
  if (!http || !board || http->port == 0 || http->port != board->port) return;
  const auto is_any = [](const std::string& address) {
    return address == "0.0.0.0" || address == "::";
  };
  const bool meet =
      http->address == board->address || is_any(http->address) || is_any(board->address);
  if (!meet) return;
  out.push_back({"listen.board.port",
                 "port " + std::to_string(board->port) + " is taken by check_in_http",
                 "a port of its own", ""});
}

}  // namespace

void check_links(const Settings& settings, std::vector<Finding>& out) {
  check_references(settings.watcher, out);
  check_ports(settings.listen, out);
  if (settings.witnesses.size() > witnesses_max) {
    out.push_back({"witnesses", std::to_string(settings.witnesses.size()) + " witnesses",
                   "at most " + std::to_string(witnesses_max), ""});
  }
  for (std::size_t i = 0; i < settings.witnesses.size(); ++i) {
    const std::string& url = settings.witnesses[i].url;
    constexpr std::size_t name_chars_max = 50;  // It is part of other identifiers.
    if (settings.witnesses[i].name.size() > name_chars_max) {
      out.push_back(
          {indexed("witnesses", i) + ".name", "a long name", "at most 50 characters", ""});
    }
    if (!url.empty()) {
      note(url_fault(url, {"https", "http"}), indexed("witnesses", i) + ".url", out);
    }
    const std::string& udp = settings.witnesses[i].check_in_udp;
    if (!udp.empty()) note(host_port_fault(udp), indexed("witnesses", i) + ".check_in_udp", out);
  }
  const ListenSettings& listen = settings.listen;
  if (!listen.public_url.empty()) {
    note(url_fault(listen.public_url, {"https", "http"}), "listen.public_url", out);
  }
  if (listen.check_in_mqtt && !listen.check_in_mqtt->broker.empty()) {
    note(url_fault(listen.check_in_mqtt->broker, {"mqtt", "mqtts"}, false),
         "listen.check_in_mqtt.broker", out);
    note(topic_fault(listen.check_in_mqtt->topic), "listen.check_in_mqtt.topic", out);
  }
}

}  // namespace ebbwatch
