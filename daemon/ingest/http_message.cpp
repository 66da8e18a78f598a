#include "ingest/http_message.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

namespace ebbwatch {
namespace {

/// RFC 9421 §2.2.3: lower case, and without the port that the scheme implies.
std::optional<std::string> authority(const HttpRequest& request) {
  auto host = request.field("host");
  if (!host) return host;
  *host = lower_case(*host);
  for (const std::string_view implied : {":80", ":443"}) {
    if (host->ends_with(implied)) host->resize(host->size() - implied.size());
  }
  return host;
}

}  // namespace

std::optional<std::string> HttpRequest::field(std::string_view lower_case_name) const {
  std::optional<std::string> out;
  for (const auto& [name, value] : fields) {
    if (name != lower_case_name) continue;
    out = out ? *out + ", " + value : value;
  }
  return out;
}

void set_target(HttpRequest& request, std::string_view target) {
  for (const std::string_view scheme : {"http://", "https://"}) {
    if (!target.starts_with(scheme)) continue;
    const auto slash = target.find('/', scheme.size());
    target = slash == std::string_view::npos ? "/" : target.substr(slash);
    break;
  }
  const auto mark = target.find('?');
  request.target = target;
  request.path = target.substr(0, mark);
  request.query = mark == std::string_view::npos ? std::string_view{} : target.substr(mark + 1);
}

std::optional<std::string> component_value(const HttpRequest& request, const std::string& name) {
  if (name == "@method") return request.method;
  if (name == "@authority") return authority(request);
  if (name == "@path") return request.path;
  if (name == "@query") return '?' + request.query;
  if (name == "@request-target") return request.target;
  if (name.starts_with('@')) return std::nullopt;
  return request.field(name);
}

std::string lower_case(std::string_view text) {
  std::string out(text);
  for (auto& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

std::string chunk_text(const std::string& piece) {
  char size[24];
  std::snprintf(size, sizeof size, "%zx\r\n", piece.size());
  return size + piece + "\r\n";
}

std::string http_date(WallTime time) {
  constexpr std::array days = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr std::array months = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                 "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::chrono::sys_time<std::chrono::microseconds> at{std::chrono::microseconds(time.us)};
  const auto day = std::chrono::floor<std::chrono::days>(at);
  const std::chrono::year_month_day date(day);
  const std::chrono::hh_mm_ss clock(std::chrono::floor<std::chrono::seconds>(at - day));
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%s, %02u %s %04d %02d:%02d:%02d GMT",
                days[std::chrono::weekday(day).c_encoding()], static_cast<unsigned>(date.day()),
                months[static_cast<unsigned>(date.month()) - 1], static_cast<int>(date.year()),
                static_cast<int>(clock.hours().count()), static_cast<int>(clock.minutes().count()),
                static_cast<int>(clock.seconds().count()));
  return text.data();
}

std::string_view status_phrase(int status) {
  struct Phrase {
    int status;
    std::string_view text;
  };
  constexpr std::array phrases = {Phrase{200, "OK"},
                                  Phrase{204, "No Content"},
                                  Phrase{400, "Bad Request"},
                                  Phrase{401, "Unauthorized"},
                                  Phrase{403, "Forbidden"},
                                  Phrase{404, "Not Found"},
                                  Phrase{405, "Method Not Allowed"},
                                  Phrase{408, "Request Timeout"},
                                  Phrase{413, "Content Too Large"},
                                  Phrase{417, "Expectation Failed"},
                                  Phrase{429, "Too Many Requests"},
                                  Phrase{431, "Request Header Fields Too Large"},
                                  Phrase{500, "Internal Server Error"},
                                  Phrase{501, "Not Implemented"},
                                  Phrase{503, "Service Unavailable"},
                                  Phrase{505, "HTTP Version Not Supported"}};
  const auto found = std::find_if(phrases.begin(), phrases.end(),
                                  [&](const Phrase& phrase) { return phrase.status == status; });
  return found == phrases.end() ? "Error" : found->text;
}

std::string plain_address(const boost::asio::ip::address& address) {
  if (address.is_v6() && address.to_v6().is_v4_mapped()) {
    return make_address_v4(boost::asio::ip::v4_mapped, address.to_v6()).to_string();
  }
  return address.to_string();
}

std::string address_group(const std::string& address) {
  boost::system::error_code error;
  auto parsed = boost::asio::ip::make_address(address, error);
  if (error || parsed.is_v4()) return address;
  auto bytes = parsed.to_v6().to_bytes();
  std::fill(bytes.begin() + 8, bytes.end(), std::uint8_t{0});
  return boost::asio::ip::make_address_v6(bytes).to_string() + "/64";
}

}  // namespace ebbwatch
