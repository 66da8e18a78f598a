#include "settings/addresses.h"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>
#include <cstdint>

#include "settings/reader.h"

namespace ebbwatch {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}
bool is_blank_or_control(char c) {
  return static_cast<unsigned char>(c) <= 0x20 || static_cast<unsigned char>(c) == 0x7f;
}

std::string quoted(std::string_view text) {
  return "\"" + std::string(text) + "\"";
}

bool is_ipv4(const std::string& text) {
  in_addr address{};
  return inet_pton(AF_INET, text.c_str(), &address) == 1;
}
bool is_ipv6(const std::string& text) {
  in6_addr address{};
  return inet_pton(AF_INET6, text.c_str(), &address) == 1;
}

// A registered name of RFC 3986 as far as DNS goes, or an IPv4 address.
bool is_host(std::string_view host) {
  if (host.empty() || host.size() > 253 || host.front() == '-' || host.front() == '.') return false;
  if (host.find("..") != host.npos) return false;
  return std::all_of(host.begin(), host.end(), [](char c) {
    return is_digit(c) || is_letter(c) || c == '-' || c == '.' || c == '_';
  });
}

bool is_port(std::string_view text) {
  std::uint32_t port = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), port);
  return read.ec == std::errc{} && read.ptr == text.data() + text.size() && port >= 1 &&
         port <= 65535;
}

// "host", "host:port", "[ipv6]:port": what is wrong with it, or nothing.
std::string authority_fault(std::string_view text, bool port_needed) {
  std::string_view host = text, port;
  bool has_port = false;
  if (!text.empty() && text.front() == '[') {
    const auto end = text.find(']');
    if (end == text.npos) return "a bracket is not closed";
    host = text.substr(1, end - 1);
    if (!is_ipv6(std::string(host))) return "no IPv6 address in the brackets";
    text.remove_prefix(end + 1);
    has_port = !text.empty() && text.front() == ':';
    if (!text.empty() && !has_port) return "something after the bracket that is no port";
    if (has_port) port = text.substr(1);
  } else {
    const auto colon = text.find(':');
    has_port = colon != text.npos;
    host = text.substr(0, colon);
    if (has_port) port = text.substr(colon + 1);
    if (!is_host(host)) return host.empty() ? "no host" : "no valid host name";
  }
  if (has_port && !is_port(port)) return "no port from 1 to 65535 after the colon";
  return port_needed && !has_port ? "no port" : "";
}

}  // namespace

std::optional<FormFault> url_fault(std::string_view url, const std::vector<std::string>& schemes,
                                   bool path_allowed) {
  std::vector<std::string> forms;
  for (const auto& scheme : schemes) {
    forms.push_back(scheme + "://HOST[:PORT]" + (path_allowed ? "[/PATH]" : ""));
  }
  const std::string allowed = join(forms, " or ");
  const auto scheme_end = url.find("://");
  if (scheme_end == url.npos) {
    return FormFault{quoted(url), allowed, "Put " + schemes.front() + ":// before it."};
  }
  const std::string scheme(url.substr(0, scheme_end));
  std::string_view rest = url.substr(scheme_end + 3);
  const auto authority_end = rest.find_first_of("/?#");
  const std::string_view authority = rest.substr(0, authority_end);
  if (authority.find('@') != authority.npos) {
    return FormFault{"an address with a user name or password in it (not shown)", allowed,
                     "Keep the secret in a file and name it under its own key."};
  }
  if (std::find(schemes.begin(), schemes.end(), scheme) == schemes.end()) {
    return FormFault{quoted(url), allowed, did_you_mean(scheme, schemes)};
  }
  if (std::any_of(url.begin(), url.end(), is_blank_or_control)) {
    return FormFault{quoted(url) + " with a space", allowed, ""};
  }
  const std::string fault = authority_fault(authority, false);
  if (!fault.empty()) return FormFault{quoted(url) + ": " + fault, allowed, ""};
  const std::string_view path = authority_end == rest.npos ? "" : rest.substr(authority_end);
  if (!path_allowed && path != "" && path != "/") {
    return FormFault{quoted(url) + ": something after the host", allowed, ""};
  }
  return std::nullopt;
}

std::optional<FormFault> host_port_fault(std::string_view text) {
  const std::string fault = authority_fault(text, true);
  if (fault.empty()) return std::nullopt;
  return FormFault{quoted(text) + ": " + fault,
                   "HOST:PORT, such as 192.0.2.53:53 or [2001:db8::1]:53", ""};
}

std::optional<FormFault> listen_address_fault(const std::string& text) {
  if (is_ipv4(text) || is_ipv6(text)) return std::nullopt;
  return FormFault{quoted(text),
                   "an IP address of this machine, such as 127.0.0.1 or 0.0.0.0 or ::",
                   text == "localhost" ? "Write 127.0.0.1."
                   : text == "*"       ? "Write 0.0.0.0 or ::."
                                       : ""};
}

std::optional<FormFault> phone_fault(std::string_view text) {
  constexpr std::size_t digits_max = 15;  // ITU-T E.164 §6.
  std::string digits;
  bool only_phone_marks = true;
  for (char c : text) {
    if (is_digit(c))
      digits += c;
    else if (std::string_view("+ -()./").find(c) == std::string_view::npos)
      only_phone_marks = false;
  }
  const bool fits = text.size() == digits.size() + 1 && text.front() == '+' && digits.size() >= 3 &&
                    digits.size() <= digits_max && digits.front() != '0';
  if (fits) return std::nullopt;
  std::string hint;
  if (only_phone_marks && digits.size() >= 3) {
    if (text.front() == '+' && digits.front() != '0')
      hint = "Write \"+" + digits + "\".";
    else if (digits.starts_with("00"))
      hint = "Write \"+" + digits.substr(2) + "\".";
    else
      hint = "Begin with + and the country code.";
  }
  return FormFault{quoted(text), "+ and 3 to 15 digits with the country code (E.164)", hint};
}

std::optional<FormFault> mailbox_fault(std::string_view text) {
  constexpr std::size_t bytes_max = 254;  // RFC 5321 §4.5.3.1.3 without the angle brackets.
  const auto at = text.rfind('@');
  const std::string_view local = text.substr(0, at);
  const bool has_form = at != text.npos && !local.empty() && text.size() <= bytes_max;
  const bool local_fits =
      has_form && local.front() != '.' && local.back() != '.' && local.find("..") == local.npos &&
      std::all_of(local.begin(), local.end(), [](char c) {
        return is_digit(c) || is_letter(c) ||
               std::string_view("!#$%&'*+-/=?^_`{|}~.").find(c) != std::string_view::npos;
      });
  if (local_fits && is_host(text.substr(at + 1))) return std::nullopt;
  return FormFault{quoted(text), "one mail address, such as tanks@example.net",
                   text.find('<') != text.npos ? "Write only what stands between < and >." : ""};
}

std::optional<FormFault> language_fault(std::string_view text) {
  const auto dash = text.find('-');
  const std::string_view main = text.substr(0, dash);
  const bool main_fits =
      (main.size() == 2 || main.size() == 3) &&
      std::all_of(main.begin(), main.end(), [](char c) { return c >= 'a' && c <= 'z'; });
  const std::string_view rest = dash == text.npos ? "x" : text.substr(dash + 1);
  const bool rest_fits = !rest.empty() && std::all_of(rest.begin(), rest.end(), [](char c) {
    return is_digit(c) || is_letter(c) || c == '-';
  });
  if (main_fits && rest_fits) return std::nullopt;
  return FormFault{quoted(text), "a language tag, such as en, de or pt-BR", ""};
}

std::optional<FormFault> topic_fault(std::string_view text) {
  int levels_with_plus = 0;
  bool fits = !text.empty() && text.find('#') == text.npos;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find('/', start), text.size());
    const std::string_view level = text.substr(start, end - start);
    if (level == "+")
      ++levels_with_plus;
    else if (level.find('+') != level.npos)
      fits = false;
    start = end + 1;
  }
  if (fits && levels_with_plus == 1) return std::nullopt;
  return FormFault{quoted(text), "a topic with one level + for the controller",
                   "The usual one is ebbwatch/+/check-in."};
}

}  // namespace ebbwatch
