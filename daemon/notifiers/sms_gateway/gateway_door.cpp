#include "notifiers/sms_gateway/gateway_door.h"

#include <algorithm>
#include <array>
#include <boost/json/object.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <vector>

#include "notifiers/sms_gateway/request_template.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

constexpr std::size_t secret_chars_min = 16, secret_chars_max = 128, notice_chars_max = 64;
constexpr std::size_t fields_max = 64;

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

bool is_plain(char c) {
  return (c >= '0' && c <= '9') || (lower(c) >= 'a' && lower(c) <= 'z') || c == '-' || c == '_';
}

bool is_plain(std::string_view word) {
  return !word.empty() && std::all_of(word.begin(), word.end(), [](char c) { return is_plain(c); });
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  const char low = lower(c);
  return low >= 'a' && low <= 'f' ? low - 'a' + 10 : -1;
}

// A percent sign that begins no code stands for itself: gateways are careless.
std::string decoded(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] == '+') {
      out += ' ';
    } else if (text[at] == '%' && at + 2 < text.size() && hex_digit(text[at + 1]) >= 0 &&
               hex_digit(text[at + 2]) >= 0) {
      out += static_cast<char>(hex_digit(text[at + 1]) * 16 + hex_digit(text[at + 2]));
      at += 2;
    } else {
      out += text[at];
    }
  }
  return out;
}

using Fields = std::map<std::string, std::string>;

void add_form(std::string_view form, Fields& out) {
  while (!form.empty() && out.size() < fields_max) {
    const auto end = form.find('&');
    const auto pair = form.substr(0, end);
    form.remove_prefix(end == std::string_view::npos ? form.size() : end + 1);
    const auto mark = pair.find('=');
    if (mark == std::string_view::npos) continue;
    out.emplace(decoded(pair.substr(0, mark)), decoded(pair.substr(mark + 1)));
  }
}

Result<void> add_json(std::string_view body, Fields& out) {
  json::parse_options options;
  options.max_depth = 8;
  boost::system::error_code error;
  const json::value parsed = json::parse(body, error, {}, options);
  if (error || !parsed.is_object()) {
    return Error{Errc::bad_input, "The body is no JSON object."};
  }
  for (const auto& [name, value] : parsed.get_object()) {
    if (out.size() >= fields_max) break;
    if (value.is_object() || value.is_array() || value.is_null()) continue;
    out.emplace(std::string(name),
                value.is_string() ? std::string(value.get_string()) : json::serialize(value));
  }
  return {};
}

bool is_in(const std::vector<std::string>& words, std::string_view word) {
  return std::any_of(words.begin(), words.end(),
                     [&](const std::string& one) { return same_word(one, word); });
}

}  // namespace

Result<std::string> read_door_secret(const GatewayCallSettings& calls,
                                     const std::string& configuration_file) {
  auto read = read_secret(calls.secret, configuration_file);
  if (!read) return read;
  const auto size = read.value().size();
  if (size < secret_chars_min || size > secret_chars_max || !is_plain(read.value())) {
    return Error{Errc::bad_input,
                 "calls.secret: it stands in an address, so it needs 16 to 128 letters, digits, "
                 "hyphens or underscores and nothing else (not shown); openssl rand -hex 20 makes "
                 "a good one"};
  }
  return read;
}

std::string door_address(std::string base, const std::string& notifier, const std::string& secret) {
  while (base.ends_with('/')) base.pop_back();
  return base + std::string(door_prefix) + notifier + "/" + secret;
}

std::string report_address(const std::string& door, const std::string& notice) {
  return door.empty() ? std::string() : door + "/report/" + percent_encoded(notice);
}

std::optional<DoorCall> read_door_path(std::string_view path) {
  if (!path.starts_with(door_prefix)) return std::nullopt;
  path.remove_prefix(door_prefix.size());
  std::array<std::string_view, 4> parts;
  std::size_t count = 0;
  for (; count < parts.size(); ++count) {
    const auto end = path.find('/');
    parts[count] = path.substr(0, end);
    if (!is_plain(parts[count])) return std::nullopt;
    if (end == std::string_view::npos) break;
    path.remove_prefix(end + 1);
  }
  DoorCall call{std::string(parts[0]), std::string(parts[1]), DoorCall::Kind::text, ""};
  if (count == 2 && parts[2] == "text") return call;
  if (count != 3 || parts[2] != "report" || parts[3].size() > notice_chars_max) return std::nullopt;
  call.kind = DoorCall::Kind::report;
  call.notice = parts[3];
  return call;
}

Result<std::map<std::string, std::string>> door_fields(std::string_view content_type,
                                                       std::string_view query,
                                                       std::string_view body) {
  Fields out;
  const bool looks_like_json = body.find_first_not_of(" \t\r\n") != body.npos &&
                               body[body.find_first_not_of(" \t\r\n")] == '{';
  if (content_type.starts_with("application/json") || looks_like_json) {
    if (const auto added = add_json(body, out); !added) return added.error();
  } else {
    add_form(body, out);
  }
  add_form(query, out);
  return out;
}

ReportWord report_word(const GatewayCallSettings& calls, std::string_view status) {
  if (is_in(calls.arrived, status)) return ReportWord::arrived;
  return is_in(calls.failed, status) ? ReportWord::failed : ReportWord::on_its_way;
}

}  // namespace ebbwatch
