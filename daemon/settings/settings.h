// Everything that the configuration file can say, as plain data with units in the types and the
// defaults in place. Filled by settings/load.*, checked by settings/check.*, turned into what the
// core watches by settings/plan.*. FORMATS section 2 is the contract.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/reading_judge.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "text/rate.h"
#include "text/time_zone.h"
#include "timeleft/tank_facts.h"

namespace ebbwatch {

/// Where a secret is kept; never the secret itself. Read by settings/secrets.*.
struct SecretSource {
  enum class Kind : std::uint8_t { none, file, credential, environment };
  Kind kind = Kind::none;
  std::string name;  ///< Path (relative: to the configuration file), credential or variable name.
  bool given() const { return kind != Kind::none; }
  friend bool operator==(const SecretSource&, const SecretSource&) = default;
};

struct UplinkReference {
  enum class Kind : std::uint8_t { tcp, http };
  std::string name;
  Kind kind = Kind::tcp;
  std::string target;  ///< "192.0.2.53:53" or a URL.
};

/// Detection keys as given at one level; empty ones inherit from the level above.
struct DetectionOverrides {
  std::optional<Span> on_delay, off_delay;
  std::optional<std::uint32_t> min_missed;
  std::optional<Quorum> quorum, site_quorum, witness_quorum;
  std::optional<Span> half_life, longest;
  std::optional<double> penalty, suppress, reuse;
  std::optional<bool> mains_enabled;
  std::optional<std::uint32_t> mains_quorum;
  std::optional<Span> mains_at_least, mains_at_most;
  /// A wish instead of on_delay and min_missed; advice/wishes.* works these out from it.
  std::optional<Span> tell_within;
  std::optional<Rate> false_alarms_at_most;

  bool has_delays() const { return on_delay || min_missed; }
  bool has_wish() const { return tell_within || false_alarms_at_most; }
};
/// What somebody wishes of detection instead of saying how it shall wait.
struct DetectionWish {
  std::optional<Span> tell_within;
  std::optional<Rate> false_alarms_at_most;
  bool given() const { return tell_within || false_alarms_at_most; }
  friend bool operator==(const DetectionWish&, const DetectionWish&) = default;
};
/// The wish that holds one level further down: explicit delays there end it, keys of a wish go over
/// it.
DetectionWish apply(DetectionWish above, const DetectionOverrides& overrides);

/// `base` with every given key of `overrides` put over it.
Detection apply(Detection base, const DetectionOverrides& overrides);

struct WatcherSettings {
  std::string name;
  std::string state_dir = "/var/lib/ebbwatch";  ///< A relative one starts beside the file.
  std::optional<std::string> site;              ///< Where this watcher stands.
  std::vector<UplinkReference> uplink_references;
  std::uint32_t uplink_quorum = 1;  ///< 0 when there are no references.
  Span uplink_every = Span::of_s(30);
  std::optional<std::string> call_list;  ///< Whom to tell of this watcher's own troubles.
  Span witness_limit = Span::of_s(10);   ///< The longest wait for witnesses before a loss.
  Span witness_every = Span::of_s(30);   ///< Between two signs of life to each witness.
  Span deputy_after = Span::of_min(2);   ///< A deputy tells what the first has not told by then.
  TimeZone time_zone;  ///< Of times of day in the settings; the machine's own when not given.
};

/// How long what is recorded stays.
struct KeepSettings {
  Span check_ins = Span::of_days(90);  ///< Each single one; then their hours.
  Span record;                         ///< Hours, outages, notices, acts; 0: for ever.
};

/// What is asked of one reading of a controller.
struct ReadingSettings {
  std::string name;  ///< "temperature_c", or "watts.return-pump" for one of several.
  ReadingLimits limits;
};

struct ControllerSettings {
  std::string id;
  std::string name;  ///< Shown to people; the id when not given.
  Span interval = Span::of_min(1);
  Supply supply = Supply::mains;
  DetectionOverrides detection;
  std::vector<ReadingSettings> readings;  ///< In the order of the file, each name once.
};

struct TankSettings {
  std::string id;
  std::string name;
  TankFacts facts;           ///< Without the site's altitude; tank_facts() adds it.
  std::string instructions;  ///< What to check first, in the owner's words; may be empty.
  std::vector<ControllerSettings> controllers;
  DetectionOverrides detection;
};

struct SiteSettings {
  std::string id;
  std::string name;
  std::optional<std::string> area, provider;
  std::optional<std::string> call_list;
  std::optional<double> altitude_m;  ///< Above the sea; thinner air holds less oxygen.
  std::string instructions;
  std::vector<std::string> tells_first;  ///< Watchers, in this order; empty: this one tells.
  std::vector<TankSettings> tanks;
  DetectionOverrides detection;
  bool is_watcher = false;  ///< Stands for a witness that is watched like a controller.
};

/// All that is known of a tank for the estimate of the time that it has left.
TankFacts tank_facts(const SiteSettings& site, const TankSettings& tank);

struct WitnessSettings {
  std::string name;
  std::string url;  ///< Empty: it cannot be asked; only it calls us.
  SecretSource key;
  std::optional<std::string> call_list;  ///< Whom to tell when it is lost; else the watcher's own.
  bool relay = false;                    ///< It is told which controllers we hear.
  std::string check_in_udp;  ///< HOST:PORT where it takes datagrams of controllers; for enrol.
};

inline constexpr std::size_t witnesses_max = 16;

enum class StartTls : std::uint8_t { when_offered, required, never };

struct EmailSettings {
  /// smtp:// or smtps:// with host and port, in the order in which they are tried.
  std::vector<std::string> servers;
  std::string from;
  std::string user;  ///< Empty: no authentication.
  SecretSource password;
  StartTls starttls = StartTls::when_offered;
  SecretSource ca_file;  ///< Kind::file only: certificates to trust instead of the system's.
};
struct WebhookSettings {
  std::string url;
  SecretSource signing_key;
};
/// Calls from a text message gateway: texts that people send, and what became of ours. They come to
/// check_in_http, at an address that holds the secret.
struct GatewayCallSettings {
  SecretSource secret;
  std::string url;  ///< Where the gateway reaches check_in_http; empty: listen.public_url.
  std::string sender = "from", text = "text", status = "status";  ///< Names of its fields.
  /// Words in the field of status, in any case of letters; others say that it is on its way. Ours:
  /// those of SMPP 3.4 receipts, Kannel's numbers, and plain English.
  std::vector<std::string> arrived{"1", "delivrd", "delivered"};
  std::vector<std::string> failed{"2",       "16",       "undeliv", "undelivered", "undeliverable",
                                  "rejectd", "rejected", "expired", "deleted",     "failed"};
};
struct SmsGatewaySettings {
  enum class Method : std::uint8_t { get, post };
  enum class Body : std::uint8_t { form, json };
  std::string url;
  Method method = Method::get;
  Body body = Body::form;
  std::vector<std::pair<std::string, std::string>> fields;   ///< In the order of the file.
  std::vector<std::pair<std::string, std::string>> headers;  ///< Values may hold {secret}.
  SecretSource secret;
  std::vector<int> accepted_status{200, 201, 202, 204};
  std::string success;  ///< Regular expression that the answer's body must match; empty: none.
  std::optional<GatewayCallSettings> calls;  ///< Empty: the gateway does not call us.
};
struct ProgramSettings {
  std::vector<std::string> command;
  Span time_limit = Span::of_s(30);
};
enum class ModemMode : std::uint8_t { automatic, pdu, text };
struct ModemSettings {
  std::string device;
  std::uint32_t speed = 115200;  ///< Bits a second.
  SecretSource pin;
  ModemMode mode = ModemMode::automatic;  ///< PDU where the modem has it.
  Span time_limit = Span::of_s(50);       ///< For one text, its turn included.
};

enum class NotifierKind : std::uint8_t { email, webhook, sms_gateway, gsm_modem, program };

struct NotifierSettings {
  std::string id;
  NotifierKind kind = NotifierKind::program;
  std::uint32_t at_once = 0;     ///< Notices under way at the same time; 0: the kind's own figure.
  std::uint32_t per_minute = 0;  ///< Attempts begun within any minute; 0: no limit.
  Span check_every = Span::of_h(1);  ///< Between looks whether it would work; 0: never.
  EmailSettings email;               ///< Only the one named by `kind` is filled.
  WebhookSettings webhook;
  SmsGatewaySettings sms_gateway;
  ModemSettings modem;
  ProgramSettings program;
};

/// A part of the week. Without times: the whole day.
struct WeekWindow {
  std::vector<int> days;                   ///< 0: Monday.
  std::int32_t from = 0, until = 24 * 60;  ///< Minutes of the day; not after `from`: until the
                                           ///< next day's.
};
/// Hours that people and call lists refer to: shop hours, nights.
struct HoursSettings {
  std::string id;
  std::vector<WeekWindow> windows;
  std::vector<std::int64_t> closed_on;  ///< Days since 1970-01-01 on which no window begins.
  std::optional<TimeZone> time_zone;    ///< Empty: the watcher's.
};

struct KeyholderSettings {
  std::string id;
  std::string name;
  std::string email;  ///< Empty: none.
  std::string phone;  ///< E.164, "+15550100"; empty: none.
  std::vector<std::string> languages{"en"};
  std::vector<std::string> hours{};  ///< When this person may be called; empty: always.
  /// More notices by one way within 10 min than this come as one summary; 0: never.
  std::uint32_t summary_above = 5;
  /// Notifier of kind email by which the report of each month comes; empty: not wished.
  std::string monthly_report{};
  /// Of the month's beginning; empty: the watcher's.
  std::optional<TimeZone> time_zone{};
};

struct CallStep {
  Span after;
  std::vector<std::string> tell;  ///< Keyholders.
  std::vector<std::string> by;    ///< Notifiers, in the order in which they are tried.
};
/// How long an acknowledgement stops a call list.
inline constexpr Span acknowledged_for_default = Span::of_h(2);

/// Exercises that come by themselves.
struct DrillSettings {
  std::optional<Span> every;       ///< Empty: none.
  std::optional<std::int32_t> at;  ///< Minute of the day; only where `every` is a day or longer.
};

struct CallListSettings {
  std::string id;
  std::vector<CallStep> steps;
  std::optional<Span> repeat_every;
  std::uint32_t repeat_at_most = 6;
  Span acknowledged_for = acknowledged_for_default;
  DrillSettings drills;
  /// A way to a person of this list that was not proven for longer is told; empty: never.
  std::optional<Span> prove_every;
  std::vector<std::string> hours{};        ///< When this list is used; empty: always.
  std::optional<std::string> otherwise{};  ///< The list that is used outside them.
  std::int32_t digest_at = 8 * 60;         ///< Minute of the day at which low matters are told.
};

/// PEM files; relative ones start from the configuration file's folder.
struct TlsSettings {
  std::string certificate;  ///< With the chain behind it.
  std::string key;
  friend bool operator==(const TlsSettings&, const TlsSettings&) = default;
};
struct ListenAddress {
  std::string address;
  std::uint16_t port = 0;
  std::optional<TlsSettings> tls;  ///< HTTP only; empty: plain.
  friend bool operator==(const ListenAddress&, const ListenAddress&) = default;
};
struct MqttSettings {
  std::string broker, topic = "ebbwatch/+/check-in";
  std::string user;  ///< Empty: the broker is not told who we are.
  SecretSource password;
  SecretSource ca_file;      ///< Kind::file only: certificates to trust instead of the system's.
  bool require_key = false;  ///< A payload counts only with the controller's key in it.
  friend bool operator==(const MqttSettings&, const MqttSettings&) = default;
};
struct ListenSettings {
  std::optional<ListenAddress> check_in_http, check_in_udp, board;
  std::optional<MqttSettings> check_in_mqtt;
  /// What controllers call, without a slash at the end; used by enrol's snippets. Empty: made from
  /// the address.
  std::string public_url;
};

struct Settings {
  std::string file;  ///< Where it was read from; relative paths in it start from its folder.
  WatcherSettings watcher;
  Detection detection;
  DetectionWish wish;
  std::vector<SiteSettings> sites;
  std::vector<WitnessSettings> witnesses;
  std::vector<NotifierSettings> notifiers;
  std::vector<HoursSettings> hours;
  std::vector<KeyholderSettings> keyholders;
  std::vector<CallListSettings> call_lists;
  ListenSettings listen;
  KeepSettings keep;
};

}  // namespace ebbwatch
