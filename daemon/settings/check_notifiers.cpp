#include <algorithm>
#include <cctype>

#include "settings/check.h"
#include "settings/reader.h"
#include "settings/regular_expression.h"

namespace ebbwatch {
namespace {

using Pairs = std::vector<std::pair<std::string, std::string>>;

void check_email(const EmailSettings& email, const std::string& path, std::vector<Finding>& out) {
  if (email.servers.empty()) {
    out.push_back({path + ".server", "no mail server", "server: smtps://HOST[:PORT]",
                   "Several are tried in the order of servers: [ADDRESS, ADDRESS]."});
  }
  bool all_encrypted = !email.servers.empty();
  for (const std::string& server : email.servers) {
    const char* key = email.servers.size() == 1 ? ".server" : ".servers";
    if (!server.empty()) note(url_fault(server, {"smtps", "smtp"}, false), path + key, out);
    all_encrypted = all_encrypted && server.starts_with("smtps://");
  }
  if (!email.from.empty()) note(mailbox_fault(email.from), path + ".from", out);
  if (!email.user.empty() && !email.password.given()) {
    out.push_back(
        {path + ".user", "a user without a password", "password: {file: PATH} as well", ""});
  }
  if (email.user.empty() && email.password.given()) {
    out.push_back({path + ".password", "a password without a user", "user: NAME as well", ""});
  }
  if (all_encrypted && email.starttls != StartTls::when_offered) {
    out.push_back({path + ".starttls", "starttls with smtps://", "starttls with smtp:// only",
                   "smtps:// is encrypted from the first byte; remove starttls."});
  }
}

// The words in braces of a value: "{to} and {text}" has two. Other braces stand for themselves.
std::vector<std::string> placeholders(const std::string& value) {
  std::vector<std::string> found;
  for (auto open = value.find('{'); open != value.npos; open = value.find('{', open + 1)) {
    const auto close = value.find_first_of("{}", open + 1);
    if (close == value.npos || value[close] != '}' || close == open + 1) continue;
    const std::string word = value.substr(open + 1, close - open - 1);
    const bool is_word = std::all_of(word.begin(), word.end(),
                                     [](char c) { return (c >= 'a' && c <= 'z') || c == '_'; });
    if (is_word) found.push_back(word);
  }
  return found;
}

bool names_a_secret(std::string name) {
  for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  for (const char* part :
       {"password", "passwd", "secret", "token", "apikey", "api_key", "api-key", "authorization"}) {
    if (name.find(part) != std::string::npos) return true;
  }
  return false;
}

struct Used {
  bool phone = false, text = false, secret = false, report_url = false, unknown = false;
};

void check_placeholders(const std::string& value, const std::string& path, Used& used,
                        std::vector<Finding>& out) {
  static const std::vector<std::string> known{"phone", "text", "secret", "notice", "report_url"};
  for (const std::string& word : placeholders(value)) {
    used.phone |= word == "phone";
    used.text |= word == "text";
    used.secret |= word == "secret";
    used.report_url |= word == "report_url";
    if (std::find(known.begin(), known.end(), word) != known.end()) continue;
    used.unknown = true;
    out.push_back({path, "unknown placeholder {" + word + "}",
                   "{phone}, {text}, {secret}, {notice}, {report_url}", did_you_mean(word, known)});
  }
}

void check_pairs(const Pairs& pairs, const std::string& path, Used& used,
                 std::vector<Finding>& out) {
  for (const auto& [name, value] : pairs) {
    const std::string key = path + "." + name;
    Used here;
    check_placeholders(value, key, here, out);
    used.phone |= here.phone;
    used.text |= here.text;
    used.secret |= here.secret;
    used.report_url |= here.report_url;
    used.unknown |= here.unknown;
    if (names_a_secret(name) && !here.secret) {
      out.push_back({key, "a literal secret (not shown)",
                     "\"{secret}\", with secret: {file: PATH} beside fields",
                     "Move it to a file that only the daemon may read."});
    }
  }
}

void check_gateway_calls(const std::optional<GatewayCallSettings>& calls, bool reports,
                         const ListenSettings& listen, const std::string& path,
                         std::vector<Finding>& out) {
  if (!calls) {
    if (reports) {
      out.push_back({path + ".fields", "{report_url} without calls",
                     "calls: {secret: {file: PATH}} as well",
                     "The gateway's calls are known by a secret in their address."});
    }
    return;
  }
  if (!calls->url.empty()) {
    note(url_fault(calls->url, {"https", "http"}), path + ".calls.url", out);
  } else if (reports && listen.public_url.empty()) {
    out.push_back({path + ".calls", "no address for the gateway to call",
                   "url: in calls, or listen.public_url", ""});
  }
  if (!listen.check_in_http) {
    out.push_back({path + ".calls", "calls without listen.check_in_http",
                   "listen: {check_in_http: …} as well", "It is where they come in."});
  }
}

void check_sms_gateway(const SmsGatewaySettings& sms, const ListenSettings& listen,
                       const std::string& path, std::vector<Finding>& out) {
  if (!sms.url.empty()) note(url_fault(sms.url, {"https", "http"}), path + ".url", out);
  Used used;
  check_placeholders(sms.url, path + ".url", used, out);
  check_pairs(sms.fields, path + ".fields", used, out);
  check_pairs(sms.headers, path + ".headers", used, out);
  if ((!used.phone || !used.text) && !used.unknown) {
    const std::string missing = !used.phone ? "{phone}" : "{text}";
    out.push_back({path + ".fields", "no field holds " + missing,
                   "{phone} and {text} in the fields, so that the gateway learns whom to tell what",
                   ""});
  }
  check_gateway_calls(sms.calls, used.report_url, listen, path, out);
  if (used.secret && !sms.secret.given()) {
    out.push_back({path + ".secret", "{secret} is used, but there is none",
                   "secret: {file: PATH}, {credential: NAME} or {env: NAME}", ""});
  }
  if (!used.secret && sms.secret.given()) {
    out.push_back({path + ".secret", "a secret that no field or header uses",
                   "\"{secret}\" in a field or header", ""});
  }
  if (sms.body == SmsGatewaySettings::Body::json && sms.method == SmsGatewaySettings::Method::get) {
    out.push_back({path + ".body", "a JSON body with method GET", "method: POST", ""});
  }
  if (!sms.success.empty() && !is_regular_expression(sms.success)) {
    out.push_back({path + ".success", "\"" + sms.success + "\"",
                   "a regular expression (ECMAScript)",
                   "Put a backslash before brackets that stand for themselves."});
  }
}

}  // namespace

void check_notifiers(const Settings& settings, std::vector<Finding>& out) {
  for (std::size_t i = 0; i < settings.notifiers.size(); ++i) {
    const NotifierSettings& notifier = settings.notifiers[i];
    const std::string path = indexed("notifiers", i);
    switch (notifier.kind) {
      case NotifierKind::email:
        check_email(notifier.email, path, out);
        break;
      case NotifierKind::webhook:
        if (!notifier.webhook.url.empty()) {
          note(url_fault(notifier.webhook.url, {"https", "http"}), path + ".url", out);
        }
        break;
      case NotifierKind::sms_gateway:
        check_sms_gateway(notifier.sms_gateway, settings.listen, path, out);
        break;
      case NotifierKind::gsm_modem:
        if (notifier.at_once > 1) {
          out.push_back({path + ".at_once", std::to_string(notifier.at_once),
                         "1: a modem sends one text at a time", ""});
        }
        if (!notifier.modem.device.empty() && notifier.modem.device.front() != '/') {
          out.push_back(
              {path + ".device", "\"" + notifier.modem.device + "\"", "the whole path of a device",
               "Names under /dev/serial/by-id stay the same when it is plugged in again."});
        }
        break;
      case NotifierKind::program:
        break;
    }
  }
}

}  // namespace ebbwatch
