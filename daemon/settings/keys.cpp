// Tables of the file as a whole, the watcher, witnesses and listeners.
#include "settings/keys.h"

#include "settings/values.h"

namespace ebbwatch {
namespace {

Keys<Draft> make_file_keys(bool is_main) {
  Keys<Draft> keys;
  if (is_main) keys.key("include", &Draft::include, values_of<std::string>(line_text));
  keys.mapping("watcher", &Draft::watcher, watcher_keys())
      .mapping("detection", &Draft::detection, detection_keys())
      .list("sites", false, &Draft::sites, site_keys())
      .list("witnesses", false, &Draft::witnesses, witness_keys())
      .list("notifiers", false, &Draft::notifiers, ReadValue<NotifierSettings>(read_notifier))
      .list("hours", false, &Draft::hours, hours_keys())
      .list("keyholders", false, &Draft::keyholders, keyholder_keys())
      .list("call_lists", false, &Draft::call_lists, call_list_keys())
      .mapping("listen", &Draft::listen, listen_keys())
      .mapping("keep", &Draft::keep, keep_keys());
  return keys;
}

// Goes into traces, whose columns are not quoted.
bool reference_name(Reader& reader, const Cursor& at, std::string& out) {
  if (!person_name(reader, at, out)) return false;
  if (out.find_first_of(",\"") == out.npos) return true;
  reader.problem(at, describe(*at.node), "a name without commas and quotes");
  return false;
}

ReadValue<UplinkReference> target_of(UplinkReference::Kind kind) {
  return [kind](Reader& reader, const Cursor& at, UplinkReference& out) {
    if (!out.target.empty()) {
      reader.problem(at, "tcp and http in one reference", "one of them",
                     "Make a second reference of it.");
      return false;
    }
    out.kind = kind;
    return line_text(reader, at, out.target);
  };
}

const Keys<UplinkReference>& uplink_reference_keys() {
  static const Keys<UplinkReference> keys =
      Keys<UplinkReference>()
          .required("name", &UplinkReference::name, reference_name)
          .custom({"tcp", false, {}}, target_of(UplinkReference::Kind::tcp))
          .custom({"http", false, {}}, target_of(UplinkReference::Kind::http));
  return keys;
}

const Keys<ListenAddress>& listen_address_keys() {
  static const Keys<ListenAddress> keys =
      Keys<ListenAddress>()
          .required("address", &ListenAddress::address, line_text)
          .required("port", &ListenAddress::port, whole<std::uint16_t>(1, 65535));
  return keys;
}

const Keys<TlsSettings>& tls_keys() {
  static const Keys<TlsSettings> keys =
      Keys<TlsSettings>()
          .required("certificate", &TlsSettings::certificate, line_text)
          .required("key", &TlsSettings::key, line_text);
  return keys;
}

const Keys<ListenAddress>& http_address_keys() {
  static const Keys<ListenAddress> keys =
      Keys<ListenAddress>(listen_address_keys()).mapping("tls", &ListenAddress::tls, tls_keys());
  return keys;
}

const Keys<MqttSettings>& mqtt_keys() {
  static const Keys<MqttSettings> keys =
      Keys<MqttSettings>()
          .required("broker", &MqttSettings::broker, line_text)
          .key("topic", &MqttSettings::topic, line_text)
          .key("user", &MqttSettings::user, line_text)
          .key("password", &MqttSettings::password, secret)
          .key("ca_file", &MqttSettings::ca_file, certificate_file)
          .key("require_key", &MqttSettings::require_key, truth);
  return keys;
}

// A duration, or "forever", which is stored as none.
bool record_time(Reader& reader, const Cursor& at, Span& out) {
  if (at.node->kind == YamlNode::Kind::scalar && at.node->text == "forever") {
    out = Span();
    return true;
  }
  return span(Span::of_days(31), Span::of_days(36600))(reader, at, out);
}

}  // namespace

const Keys<Draft>& file_keys(bool is_main) {
  static const Keys<Draft> main_file = make_file_keys(true);
  static const Keys<Draft> included_file = make_file_keys(false);
  return is_main ? main_file : included_file;
}

const Keys<WatcherSettings>& watcher_keys() {
  static const Keys<WatcherSettings> keys =
      Keys<WatcherSettings>()
          .required("name", &WatcherSettings::name, identifier)
          .key("state_dir", &WatcherSettings::state_dir, line_text)
          .key("site", &WatcherSettings::site, identifier)
          .list("uplink_references", false, &WatcherSettings::uplink_references,
                uplink_reference_keys())
          .key("uplink_quorum", &WatcherSettings::uplink_quorum, whole<std::uint32_t>(0, 1000))
          .key("uplink_every", &WatcherSettings::uplink_every, span(Span::of_s(1), Span::of_h(1)))
          .key("call_list", &WatcherSettings::call_list, identifier)
          .key("witness_limit", &WatcherSettings::witness_limit,
               span(Span::of_s(1), Span::of_min(5)))
          .key("witness_every", &WatcherSettings::witness_every, span(Span::of_s(1), Span::of_h(1)))
          .key("deputy_after", &WatcherSettings::deputy_after, span(Span::of_s(1), Span::of_h(24)))
          .key("time_zone", &WatcherSettings::time_zone, time_zone);
  return keys;
}

const Keys<KeepSettings>& keep_keys() {
  static const Keys<KeepSettings> keys =
      Keys<KeepSettings>()
          .key("check_ins", &KeepSettings::check_ins, span(Span::of_days(1), Span::of_days(3660)))
          .key("record", &KeepSettings::record, record_time);
  return keys;
}

const Keys<WitnessSettings>& witness_keys() {
  static const Keys<WitnessSettings> keys =
      Keys<WitnessSettings>()
          .required("name", &WitnessSettings::name, identifier)
          .key("url", &WitnessSettings::url, line_text)
          .required("key", &WitnessSettings::key, secret)
          .key("call_list", &WitnessSettings::call_list, identifier)
          .key("relay", &WitnessSettings::relay, truth)
          .key("check_in_udp", &WitnessSettings::check_in_udp, line_text);
  return keys;
}

const Keys<ListenSettings>& listen_keys() {
  static const Keys<ListenSettings> keys =
      Keys<ListenSettings>()
          .mapping("check_in_http", &ListenSettings::check_in_http, http_address_keys())
          .mapping("check_in_udp", &ListenSettings::check_in_udp, listen_address_keys())
          .mapping("check_in_mqtt", &ListenSettings::check_in_mqtt, mqtt_keys())
          .mapping("board", &ListenSettings::board, http_address_keys())
          .key("public_url", &ListenSettings::public_url, line_text);
  return keys;
}

}  // namespace ebbwatch
