#include "ingest/datagram.h"

#include <algorithm>
#include <charconv>
#include <vector>

#include "core/limits.h"
#include "ingest/check_in_fields.h"
#include "text/identifier.h"

namespace ebbwatch {
namespace {

constexpr std::uint64_t exact_max = 9007199254740991;   // As for JSON: 2^53 - 1.
constexpr std::uint64_t unix_ms_max = 253402300799999;  // The end of year 9999.
constexpr std::size_t echo_chars_max = 32;

std::optional<std::uint64_t> plain_number(std::string_view text, std::uint64_t most) {
  if (text.empty() || (text.size() > 1 && text.front() == '0')) return std::nullopt;
  std::uint64_t out = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, out);
  if (error != std::errc{} || stop != end || out > most) return std::nullopt;
  return out;
}

bool is_echo(std::string_view text) {
  return !text.empty() && text.size() <= echo_chars_max &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                  c == '-' || c == '_';
         });
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

bool read_mac(std::string_view text, std::array<std::uint8_t, Datagram::mac_bytes>& out) {
  if (text.size() != 2 * out.size()) return false;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const int high = hex_digit(text[2 * i]), low = hex_digit(text[2 * i + 1]);
    if (high < 0 || low < 0) return false;
    out[i] = static_cast<std::uint8_t>(high * 16 + low);
  }
  return true;
}

/// The six parts after "EBB1"; false when there are fewer or more.
bool split(std::string_view bytes, std::array<std::string_view, 7>& parts) {
  for (std::size_t i = 0; i + 1 < parts.size(); ++i) {
    const auto end = bytes.find(' ');
    if (end == std::string_view::npos) return false;
    parts[i] = bytes.substr(0, end);
    bytes.remove_prefix(end + 1);
  }
  parts.back() = bytes;
  return bytes.find(' ') == std::string_view::npos;
}

}  // namespace

bool Datagram::is_made_with(const MacState& key) const {
  const Sha256 wanted = key.mac(covered);
  const auto text_of = [](const std::uint8_t* bytes) {
    return std::string_view(reinterpret_cast<const char*>(bytes), mac_bytes);
  };
  return equal_in_constant_time(text_of(wanted.data()), text_of(mac.data()));
}

std::optional<Datagram> parse_datagram(std::string_view bytes) {
  if (bytes.size() > limits::datagram_bytes_max) return std::nullopt;
  const auto is_plain = [](char c) { return c >= ' ' && c <= '~'; };
  if (!std::all_of(bytes.begin(), bytes.end(), is_plain)) return std::nullopt;
  std::array<std::string_view, 7> parts;
  if (!split(bytes, parts) || parts[0] != "EBB1") return std::nullopt;
  Datagram out;
  const auto seq = plain_number(parts[2], exact_max);
  if (!is_identifier(parts[1]) || !seq || !read_mac(parts[6], out.mac)) return std::nullopt;
  out.controller = parts[1];
  out.seq = *seq;
  if (parts[3] != "-") {
    const auto unix_ms = plain_number(parts[3], unix_ms_max);
    if (!unix_ms) return std::nullopt;
    out.sent_at = WallTime{} + Span::of_ms(static_cast<std::int64_t>(*unix_ms));
  }
  if (parts[4] != "-") {
    if (!is_echo(parts[4])) return std::nullopt;
    out.echo = parts[4];
  }
  if (parts[5] != "-") out.pairs = parts[5];
  out.covered = bytes.substr(0, bytes.size() - parts[6].size() - 1);
  return out;
}

Result<ParsedCheckIn> check_in_of(const Datagram& datagram) {
  ParsedCheckIn out;
  out.controller = datagram.controller;
  out.seq = datagram.seq;
  out.sent_at = datagram.sent_at;
  std::vector<std::string_view> seen{"controller", "seq", "sent_at"};
  std::string_view rest = datagram.pairs;
  while (!rest.empty()) {
    const auto end = rest.find(',');
    const auto pair = rest.substr(0, end);
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
    const auto equals = pair.find('=');
    if (equals == std::string_view::npos || equals == 0) {
      return Error{Errc::bad_input, "The datagram has " + shown_text(pair) +
                                        " where a pair belongs. Send NAME=VALUE, with commas "
                                        "between the pairs, or - for none."};
    }
    const auto name = pair.substr(0, equals);
    if (std::find(seen.begin(), seen.end(), name) != seen.end()) {
      return Error{Errc::bad_input,
                   std::string(name) + ": given twice; allowed is once. Send it only once."};
    }
    if (is_field(name)) seen.push_back(name);
    if (const auto taken = take_form_pair(out, name, pair.substr(equals + 1)); !taken) {
      return taken.error();
    }
  }
  return out;
}

std::string datagram_answer(std::string_view echo, const MacState& key) {
  std::string out = "EBB1 ok " + std::string(echo);
  const Sha256 mac = key.mac(out);
  out += ' ';
  out += to_hex(std::span(mac).first(Datagram::mac_bytes));
  return out;
}

}  // namespace ebbwatch
