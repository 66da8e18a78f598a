// The forms of addresses that a configuration holds. Pure; each function says what is wrong.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

/// Why a text has not the wanted form, and what would help. Never repeats passwords.
struct FormFault {
  std::string found, allowed, hint;
};

/// `scheme://host[:port][/path]` with one of the schemes (RFC 3986), no user information.
/// @param path_allowed false for mail servers and brokers.
std::optional<FormFault> url_fault(std::string_view url, const std::vector<std::string>& schemes,
                                   bool path_allowed = true);
/// "192.0.2.53:53", "resolver.example.net:53", "[2001:db8::53]:53".
std::optional<FormFault> host_port_fault(std::string_view text);
/// An IPv4 or IPv6 address to listen on.
std::optional<FormFault> listen_address_fault(const std::string& text);
/// E.164: "+" and at most 15 digits, the first not 0.
std::optional<FormFault> phone_fault(std::string_view text);
/// RFC 5321 mailbox with a dot-string local part: name@host, at most 254 bytes.
std::optional<FormFault> mailbox_fault(std::string_view text);
/// A language tag of RFC 5646 in its short form: "en", "pt-BR".
std::optional<FormFault> language_fault(std::string_view text);
/// A topic filter of MQTT with "+" for the controller in exactly one level.
std::optional<FormFault> topic_fault(std::string_view text);

}  // namespace ebbwatch
