#include "cli/enrol_snippets.h"

#include <algorithm>

namespace ebbwatch {
namespace {

std::string crontab_minutes(Span interval) {
  const auto minutes = std::max<std::int64_t>(1, interval.us / Span::of_min(1).us);
  return minutes == 1 ? "*" : minutes < 60 ? "*/" + std::to_string(minutes) : "0";
}

std::string udp_snippet(const std::string& controller, const CheckInPlace& place) {
  return "By datagram (UDP), for small devices; the answer is EBB1 ok ECHO MAC:\n"
         "  KEY=" +
         place.key + "\n  text=\"EBB1 " + controller +
         " 1 $(date +%s%3N) - power=mains\"\n"
         "  mac=$(printf %s \"$text\" | openssl dgst -sha256 -hmac \"$KEY\" | sed 's/.* //')\n"
         "  printf %s \"$text $(printf %.32s \"$mac\")\" | nc -u -w 2 " +
         place.udp->host + " " + place.udp->port + "\n\n";
}

/// One call of each watcher, side by side, and then the wait for all.
std::string http_to_all(const std::vector<CheckInPlace>& places) {
  std::string out = "  body='{\"power\": \"mains\", \"readings\": {\"temperature_c\": 25.4}}'\n";
  for (const CheckInPlace& place : places) {
    out += "  curl -fsS -m 20 --retry 2 -H 'Authorization: Bearer " + place.key +
           "' \\\n    --json \"$body\" " + place.check_in_url() + " &\n";
  }
  return out + "  wait\n\n";
}

std::string crontab_to_all(const std::vector<CheckInPlace>& places, Span interval) {
  std::string out = "From a crontab, one line for each:\n";
  for (const CheckInPlace& place : places) {
    out += "  " + crontab_minutes(interval) + " * * * *  curl -fsS -m 20 --retry 2 -o /dev/null '" +
           place.capability_url() + "'\n";
  }
  return out + "\n";
}

std::string udp_to_all(const std::string& controller, const std::vector<CheckInPlace>& places) {
  std::string calls;
  for (const CheckInPlace& place : places) {
    if (!place.udp) continue;
    calls += "  check_in " + place.key + " " + place.udp->host + " " + place.udp->port + " &\n";
  }
  if (std::count(calls.begin(), calls.end(), '\n') < 2) return "";
  return "By datagram (UDP):\n"
         "  text=\"EBB1 " +
         controller +
         " 1 $(date +%s%3N) - power=mains\"\n"
         "  check_in() {\n"
         "    mac=$(printf %s \"$text\" | openssl dgst -sha256 -hmac \"$1\" | sed 's/.* //')\n"
         "    printf %s \"$text $(printf %.32s \"$mac\")\" | nc -u -w 2 \"$2\" \"$3\"\n"
         "  }\n" +
         calls + "  wait\n\n";
}

}  // namespace

CheckInPlace::Udp udp_place_in(const std::string& host_and_port) {
  const auto colon = host_and_port.rfind(':');
  return {host_and_port.substr(0, colon), host_and_port.substr(colon + 1)};
}

std::string snippets_for_one(const std::string& controller, const CheckInPlace& place,
                             Span interval, bool replaced) {
  std::string out = "Key of " + controller +
                    " (shown only now; the watcher keeps its hash):\n\n  " + place.key + "\n\n";
  if (replaced) out += "The earlier key of " + controller + " stops working now.\n\n";
  out += "Try it:\n  curl -fsS -H 'Authorization: Bearer " + place.key + "' -X POST \\\n    " +
         place.check_in_url() + "\n\n";
  out += "With readings:\n  curl -fsS -H 'Authorization: Bearer " + place.key +
         "' \\\n    --json '{\"power\": \"mains\", \"readings\": {\"temperature_c\": 25.4}}' \\\n"
         "    " +
         place.check_in_url() + "\n\n";
  out += "From a crontab:\n  " + crontab_minutes(interval) +
         " * * * *  curl -fsS -m 20 --retry 2 -o /dev/null '" + place.capability_url() + "'\n\n";
  out += "For a device that can only open an address:\n  " + place.capability_url() + "\n\n";
  if (place.udp) out += udp_snippet(controller, place);
  return out;
}

std::string snippets_for_all(const std::string& controller, const std::vector<CheckInPlace>& places,
                             Span interval) {
  if (places.size() < 2) return "";
  std::string names;
  for (std::size_t i = 0; i < places.size(); ++i) {
    names += (i == 0 ? "" : i + 1 == places.size() ? " and " : ", ") + places[i].watcher;
  }
  return "To " + names + " in one go, each with its own key:\n" + http_to_all(places) +
         crontab_to_all(places, interval) + udp_to_all(controller, places);
}

}  // namespace ebbwatch
