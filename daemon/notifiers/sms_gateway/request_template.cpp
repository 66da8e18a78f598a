#include "notifiers/sms_gateway/request_template.h"

#include <algorithm>
#include <array>
#include <boost/json/serialize.hpp>
#include <boost/json/string.hpp>
#include <functional>
#include <optional>

namespace ebbwatch {
namespace {

struct Placeholder {
  std::string_view word;
  std::string TemplateValues::*value;
};
constexpr std::array<Placeholder, 5> placeholders{{{"phone", &TemplateValues::phone},
                                                   {"text", &TemplateValues::text},
                                                   {"secret", &TemplateValues::secret},
                                                   {"notice", &TemplateValues::notice},
                                                   {"report_url", &TemplateValues::report_url}}};

const Placeholder* find_placeholder(std::string_view word) {
  const auto* found = std::find_if(placeholders.begin(), placeholders.end(),
                                   [&](const Placeholder& p) { return p.word == word; });
  return found == placeholders.end() ? nullptr : found;
}

// The lower-case word in braces that begins at `at`; empty when it is something else.
std::string_view word_in_braces(std::string_view text, std::size_t at) {
  if (text[at] != '{') return "";
  std::size_t end = at + 1;
  while (end < text.size() && ((text[end] >= 'a' && text[end] <= 'z') || text[end] == '_')) ++end;
  return end < text.size() && text[end] == '}' ? text.substr(at + 1, end - at - 1) : "";
}

std::optional<Error> placeholder_fault(const std::string& place, std::string_view text) {
  for (std::size_t at = 0; at < text.size(); ++at) {
    const auto word = word_in_braces(text, at);
    if (word.empty() || find_placeholder(word) != nullptr) continue;
    return Error{Errc::bad_input,
                 place + ": {" + std::string(word) +
                     "} is unknown; there are {phone}, {text}, {secret}, {notice}, {report_url}"};
  }
  return std::nullopt;
}

using Encode = std::function<std::string(std::string_view)>;

// One pass, so that a value that looks like a placeholder is not filled in again.
std::string filled(std::string_view text, const TemplateValues& values, const Encode& encode) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const auto word = word_in_braces(text, at);
    const Placeholder* placeholder = word.empty() ? nullptr : find_placeholder(word);
    if (placeholder == nullptr) {
      out.push_back(text[at++]);
      continue;
    }
    out += encode(values.*(placeholder->value));
    at += word.size() + 2;
  }
  return out;
}

std::string as_it_is(std::string_view text) {
  return std::string(text);
}

std::string for_header(std::string_view text) {
  std::string out(text);
  std::erase_if(out, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
  return out;
}

std::string form_body(const SmsGatewaySettings& settings, const TemplateValues& values) {
  std::string out;
  for (const auto& [name, value] : settings.fields) {
    if (!out.empty()) out += '&';
    out += percent_encoded(name) + "=" + percent_encoded(filled(value, values, as_it_is));
  }
  return out;
}

std::string json_body(const SmsGatewaySettings& settings, const TemplateValues& values) {
  const auto quoted = [](const std::string& text) {
    return boost::json::serialize(boost::json::string(text));
  };
  std::string out = "{";
  for (const auto& [name, value] : settings.fields) {
    if (out.size() > 1) out += ',';
    out += quoted(name) + ":" + quoted(filled(value, values, as_it_is));
  }
  return out + "}";
}

std::string with_query(std::string url, const std::string& query) {
  url.resize(std::min(url.size(), url.find('#')));
  if (query.empty()) return url;
  const auto mark = url.find('?');
  if (mark == std::string::npos) return url + "?" + query;
  return mark + 1 == url.size() || url.back() == '&' ? url + query : url + "&" + query;
}

}  // namespace

std::string percent_encoded(std::string_view text) {
  constexpr std::string_view digits = "0123456789ABCDEF", marks = "-._~";
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    if (letter || (c >= '0' && c <= '9') || marks.find(c) != std::string_view::npos) {
      out += c;
    } else {
      out += '%';
      out += digits[byte >> 4];
      out += digits[byte & 0xF];
    }
  }
  return out;
}

Result<void> check_template(const SmsGatewaySettings& settings) {
  if (const auto fault = placeholder_fault("url", settings.url)) return *fault;
  for (const auto& [name, value] : settings.fields) {
    if (const auto fault = placeholder_fault("fields." + name, value)) return *fault;
  }
  for (const auto& [name, value] : settings.headers) {
    if (const auto fault = placeholder_fault("headers." + name, value)) return *fault;
    if (for_header(name) != name || name.find_first_of(": ") != std::string::npos || name.empty()) {
      return Error{Errc::bad_input, "headers: \"" + for_header(name) + "\" is no header name"};
    }
  }
  return {};
}

OutgoingRequest fill_template(const SmsGatewaySettings& settings, const TemplateValues& values) {
  OutgoingRequest request;
  request.url = filled(settings.url, values, percent_encoded);
  for (const auto& [name, value] : settings.headers) {
    request.headers.emplace_back(name, for_header(filled(value, values, as_it_is)));
  }
  if (settings.method == SmsGatewaySettings::Method::get) {
    request.url = with_query(std::move(request.url), form_body(settings, values));
    return request;
  }
  const bool json = settings.body == SmsGatewaySettings::Body::json;
  request.method = OutgoingRequest::Method::post;
  request.body = json ? json_body(settings, values) : form_body(settings, values);
  request.headers.emplace_back("Content-Type",
                               json ? "application/json" : "application/x-www-form-urlencoded");
  return request;
}

}  // namespace ebbwatch
