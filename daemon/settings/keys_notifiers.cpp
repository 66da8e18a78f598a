// One table per kind of notifier: what `kind` says decides which keys are allowed.
#include <algorithm>
#include <utility>

#include "core/limits.h"
#include "settings/keys.h"
#include "settings/values.h"

namespace ebbwatch {
namespace {

const std::vector<std::pair<std::string, NotifierKind>>& kind_words() {
  static const std::vector<std::pair<std::string, NotifierKind>> words{
      {"email", NotifierKind::email},
      {"webhook", NotifierKind::webhook},
      {"sms_gateway", NotifierKind::sms_gateway},
      {"gsm_modem", NotifierKind::gsm_modem},
      {"program", NotifierKind::program}};
  return words;
}

// Reads into a member of the part of the settings that belongs to the kind.
template <class Part, class M, class Read>
ReadValue<NotifierSettings> in(Part NotifierSettings::*part, M Part::*member, Read read) {
  return [=](Reader& reader, const Cursor& at, NotifierSettings& out) {
    return read(reader, at, (out.*part).*member);
  };
}

Keys<NotifierSettings> common() {
  return Keys<NotifierSettings>()
      .required("id", &NotifierSettings::id, identifier)
      .required("kind", &NotifierSettings::kind, choice<NotifierKind>(kind_words()));
}

// A single server is a list of one.
bool mail_server(Reader& reader, const Cursor& at, NotifierSettings& out) {
  std::string server;
  const bool read = line_text(reader, at, server);
  out.email.servers.push_back(std::move(server));
  return read;
}

// A duration, or "never", which is stored as none.
bool check_interval(Reader& reader, const Cursor& at, Span& out) {
  if (at.node->kind == YamlNode::Kind::scalar && at.node->text == "never") {
    out = Span();
    return true;
  }
  return span(Span::of_min(1), Span::of_days(7))(reader, at, out);
}

// What every kind has, after its own keys.
Keys<NotifierSettings> with_limits(Keys<NotifierSettings> keys) {
  return keys.key("at_once", &NotifierSettings::at_once, whole<std::uint32_t>(1, 100))
      .key("per_minute", &NotifierSettings::per_minute, whole<std::uint32_t>(1, 10'000))
      .key("check_every", &NotifierSettings::check_every, check_interval);
}

Keys<NotifierSettings> email() {
  constexpr auto part = &NotifierSettings::email;
  return common()
      .custom({"server", false, {}}, mail_server)
      .custom({"servers", false, {}},
              in(part, &EmailSettings::servers, values_of<std::string>(line_text)))
      .custom({"from", true, {}}, in(part, &EmailSettings::from, line_text))
      .custom({"user", false, {}}, in(part, &EmailSettings::user, line_text))
      .custom({"password", false, {}}, in(part, &EmailSettings::password, secret))
      .custom({"starttls", false, {}},
              in(part, &EmailSettings::starttls,
                 choice<StartTls>({{"when_offered", StartTls::when_offered},
                                   {"required", StartTls::required},
                                   {"never", StartTls::never}})))
      .custom({"ca_file", false, {}}, in(part, &EmailSettings::ca_file, certificate_file));
}

Keys<NotifierSettings> webhook() {
  constexpr auto part = &NotifierSettings::webhook;
  return common()
      .custom({"url", true, {}}, in(part, &WebhookSettings::url, line_text))
      .custom({"signing_key", false, {}}, in(part, &WebhookSettings::signing_key, secret));
}

const Keys<GatewayCallSettings>& gateway_call_keys() {
  using Calls = GatewayCallSettings;
  static const Keys<Calls> keys =
      Keys<Calls>()
          .required("secret", &Calls::secret, secret)
          .key("url", &Calls::url, line_text)
          .key("sender", &Calls::sender, line_text)
          .key("text", &Calls::text, line_text)
          .key("status", &Calls::status, line_text)
          .key("arrived", &Calls::arrived, values_of<std::string>(line_text))
          .key("failed", &Calls::failed, values_of<std::string>(line_text));
  return keys;
}

bool gateway_calls(Reader& reader, const Cursor& at, NotifierSettings& out) {
  return gateway_call_keys().fill(reader, at, out.sms_gateway.calls.emplace());
}

Keys<NotifierSettings> sms_gateway() {
  using Sms = SmsGatewaySettings;
  constexpr auto part = &NotifierSettings::sms_gateway;
  const auto method = choice<Sms::Method>({{"GET", Sms::Method::get}, {"POST", Sms::Method::post}});
  const auto body = choice<Sms::Body>({{"form", Sms::Body::form}, {"json", Sms::Body::json}});
  return common()
      .custom({"url", true, {}}, in(part, &Sms::url, line_text))
      .custom({"method", false, {}}, in(part, &Sms::method, method))
      .custom({"body", false, {}}, in(part, &Sms::body, body))
      .custom({"fields", false, {}}, in(part, &Sms::fields, text_pairs))
      .custom({"headers", false, {}}, in(part, &Sms::headers, text_pairs))
      .custom({"secret", false, {}}, in(part, &Sms::secret, secret))
      .custom({"accepted_status", false, {}},
              in(part, &Sms::accepted_status, values_of<int>(whole<int>(100, 599))))
      .custom({"success", false, {}}, in(part, &Sms::success, line_text))
      .custom({"calls", false, gateway_call_keys().names()}, gateway_calls);
}

// What the serial line can do.
bool serial_speed(Reader& reader, const Cursor& at, std::uint32_t& out) {
  std::vector<std::string> words;
  for (const std::uint32_t speed :
       {9600U, 19200U, 38400U, 57600U, 115200U, 230400U, 460800U, 921600U}) {
    words.push_back(std::to_string(speed));
    if (at.node->kind == YamlNode::Kind::scalar && at.node->text == words.back()) {
      out = speed;
      return true;
    }
  }
  reader.problem(at, describe(*at.node), join(words));
  return false;
}

Keys<NotifierSettings> gsm_modem() {
  constexpr auto part = &NotifierSettings::modem;
  return common()
      .custom({"device", true, {}}, in(part, &ModemSettings::device, line_text))
      .custom({"speed", false, {}}, in(part, &ModemSettings::speed, serial_speed))
      .custom({"pin", false, {}}, in(part, &ModemSettings::pin, secret))
      .custom({"mode", false, {}}, in(part, &ModemSettings::mode,
                                      choice<ModemMode>({{"auto", ModemMode::automatic},
                                                         {"pdu", ModemMode::pdu},
                                                         {"text", ModemMode::text}})))
      .custom({"time_limit", false, {}},
              in(part, &ModemSettings::time_limit, span(Span::of_s(2), limits::deliver_time_max)));
}

Keys<NotifierSettings> program() {
  constexpr auto part = &NotifierSettings::program;
  return common()
      .custom({"command", true, {}},
              in(part, &ProgramSettings::command, values_of<std::string>(line_text)))
      .custom({"time_limit", false, {}}, in(part, &ProgramSettings::time_limit,
                                            span(Span::of_s(1), limits::deliver_time_max)));
}

const Keys<NotifierSettings>& keys_of(NotifierKind kind) {
  static const Keys<NotifierSettings> tables[] = {with_limits(email()), with_limits(webhook()),
                                                  with_limits(sms_gateway()),
                                                  with_limits(gsm_modem()), with_limits(program())};
  return tables[static_cast<std::size_t>(kind)];
}

const YamlNode* value_of(const YamlNode& mapping, const char* key) {
  for (const auto& entry : mapping.entries) {
    if (entry.key == key) return entry.value.get();
  }
  return nullptr;
}

}  // namespace

bool read_notifier(Reader& reader, const Cursor& at, NotifierSettings& out) {
  const YamlNode* given = value_of(*at.node, "kind");
  for (const auto& [word, kind] : kind_words()) {
    if (given != nullptr && given->text == word) return keys_of(kind).fill(reader, at, out);
  }
  // The kind is missing or wrong, so nothing is known of the other keys: check the common ones
  // only.
  if (at.node->kind != YamlNode::Kind::mapping) return common().fill(reader, at, out);
  YamlNode bare = *at.node;
  std::erase_if(bare.entries, [](const YamlNode::Entry& entry) {
    return entry.key != "id" && entry.key != "kind";
  });
  Cursor only_common = at;
  only_common.node = &bare;
  return common().fill(reader, only_common, out);
}

}  // namespace ebbwatch
