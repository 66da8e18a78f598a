#include "notifiers/gsm_modem/sms_pdu.h"

#include <algorithm>
#include <chrono>
#include <optional>

#include "text/gsm7.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

using Octets = std::string;

constexpr std::size_t octets_max = 140;  // TS 23.040 §9.2.3.24.
constexpr std::size_t ucs2_units_max = 70, joined_ucs2_units_max = 67;
constexpr unsigned char international = 0x91, alphanumeric = 0x50;
constexpr unsigned char validity_24_h = 0xA7;  // TS 23.040 §9.2.3.12.1.
constexpr unsigned char dcs_gsm7 = 0x00, dcs_ucs2 = 0x08;

unsigned char byte(char c) {
  return static_cast<unsigned char>(c);
}

std::string to_hex(std::string_view octets) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  std::string out;
  for (const char c : octets) {
    out += digits[byte(c) >> 4];
    out += digits[byte(c) & 0xF];
  }
  return out;
}

std::optional<unsigned> hex_digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<unsigned>(c - '0');
  if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A' + 10);
  if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a' + 10);
  return std::nullopt;
}

std::optional<Octets> from_hex(std::string_view hex) {
  if (hex.size() % 2 != 0) return std::nullopt;
  Octets out;
  for (std::size_t i = 0; i < hex.size(); i += 2) {
    const auto high = hex_digit(hex[i]), low = hex_digit(hex[i + 1]);
    if (!high || !low) return std::nullopt;
    out.push_back(static_cast<char>(*high << 4 | *low));
  }
  return out;
}

void append_unit(Octets& out, unsigned unit) {
  out.push_back(static_cast<char>(unit >> 8));
  out.push_back(static_cast<char>(unit & 0xFF));
}

Octets utf16(std::string_view utf8) {
  Octets out;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint point = code_point_at(utf8, at);
    at += point.bytes;
    const auto value = static_cast<unsigned>(point.value);
    if (value > 0xFFFF) {
      append_unit(out, 0xD800 + ((value - 0x10000) >> 10));
      append_unit(out, 0xDC00 + ((value - 0x10000) & 0x3FF));
    } else {
      append_unit(out, value);
    }
  }
  return out;
}

std::string from_utf16(std::string_view octets) {
  std::string out;
  const auto unit = [&](std::size_t at) -> char32_t {
    return static_cast<char32_t>(byte(octets[at]) << 8 | byte(octets[at + 1]));
  };
  for (std::size_t at = 0; at + 1 < octets.size(); at += 2) {
    char32_t value = unit(at);
    const bool high = value >= 0xD800 && value < 0xDC00;
    if (high && at + 3 < octets.size() && unit(at + 2) >= 0xDC00 && unit(at + 2) < 0xE000) {
      value = 0x10000 + ((value - 0xD800) << 10) + (unit(at + 2) - 0xDC00);
      at += 2;
    } else if (value >= 0xD800 && value < 0xE000) {
      value = 0xFFFD;
    }
    append_utf8(out, value);
  }
  return out;
}

// Septets into octets after `fill_bits` zero bits, which bring them behind a header to a septet's
// boundary (TS 23.040 §9.2.3.24).
Octets packed(std::string_view codes, unsigned fill_bits) {
  Octets out;
  unsigned held = 0, bits = fill_bits;
  for (const char code : codes) {
    held |= static_cast<unsigned>(byte(code)) << bits;
    for (bits += 7; bits >= 8; bits -= 8, held >>= 8) out.push_back(static_cast<char>(held & 0xFF));
  }
  if (bits > 0 && !codes.empty()) out.push_back(static_cast<char>(held & 0xFF));
  return out;
}

std::string unpacked(std::string_view octets, std::size_t first_septet, std::size_t end_septet) {
  std::string codes;
  for (std::size_t i = first_septet; i < end_septet; ++i) {
    const std::size_t bit = 7 * i;
    unsigned two = byte(octets[bit / 8]);
    if (bit / 8 + 1 < octets.size()) two |= static_cast<unsigned>(byte(octets[bit / 8 + 1])) << 8;
    codes.push_back(static_cast<char>(two >> (bit % 8) & 0x7F));
  }
  return codes;
}

// Pieces of at most `most` units of `width` octets, none ending after a `splits_after` unit.
template <class IsFirstOfPair>
std::vector<Octets> split(const Octets& all, std::size_t most, std::size_t width,
                          IsFirstOfPair is_first_of_pair) {
  std::vector<Octets> pieces;
  for (std::size_t at = 0; at < all.size();) {
    std::size_t count = std::min(most * width, all.size() - at);
    if (at + count < all.size() && is_first_of_pair(all[at + count - width])) count -= width;
    pieces.push_back(all.substr(at, count));
    at += count;
  }
  return pieces;
}

Octets swapped_digits(std::string_view digits) {
  Octets out;
  for (std::size_t i = 0; i < digits.size(); i += 2) {
    const unsigned low = byte(digits[i]) & 0xF;
    const unsigned high = i + 1 < digits.size() ? byte(digits[i + 1]) & 0xF : 0xF;
    out.push_back(static_cast<char>(high << 4 | low));
  }
  return out;
}

SubmitPdu submit(std::string_view phone, unsigned char dcs, std::size_t length, bool has_header,
                 const Octets& user_data) {
  const std::string_view digits = phone.substr(phone.starts_with('+') ? 1 : 0);
  Octets tpdu;
  tpdu.push_back(has_header ? 0x51 : 0x11);  // SMS-SUBMIT, relative validity, header or not.
  tpdu.push_back(0x00);                      // The modem counts the messages.
  tpdu.push_back(static_cast<char>(digits.size()));
  tpdu.push_back(static_cast<char>(phone.starts_with('+') ? international : 0x81));
  tpdu += swapped_digits(digits);
  tpdu.push_back(0x00);
  tpdu.push_back(static_cast<char>(dcs));
  tpdu.push_back(static_cast<char>(validity_24_h));
  tpdu.push_back(static_cast<char>(length));
  tpdu += user_data;
  return {"00" + to_hex(tpdu), tpdu.size()};
}

Octets joining_header(std::uint8_t reference, std::size_t part, std::size_t parts) {
  Octets header{5, 0, 3};
  header.push_back(static_cast<char>(reference));
  header.push_back(static_cast<char>(parts));
  header.push_back(static_cast<char>(part));
  return header;
}

// Takes octets from the left; after the first failure everything is empty.
class Cursor {
 public:
  explicit Cursor(std::string_view octets) : left_(octets) {}
  std::string_view take(std::size_t count) {
    ok_ = ok_ && count <= left_.size();
    if (!ok_) return {};
    const auto taken = left_.substr(0, count);
    left_.remove_prefix(count);
    return taken;
  }
  unsigned char one() {
    const auto taken = take(1);
    return taken.empty() ? static_cast<unsigned char>(0) : byte(taken.front());
  }
  std::string_view rest() const { return ok_ ? left_ : std::string_view(); }
  bool ok() const { return ok_; }

 private:
  std::string_view left_;
  bool ok_ = true;
};

std::string address(Cursor& in) {
  const std::size_t digits = in.one();
  const unsigned char type = in.one();
  const auto octets = in.take((digits + 1) / 2);
  if ((type & 0x70) == alphanumeric) {
    return gsm7_decoded(unpacked(octets, 0, octets.empty() ? 0 : digits * 4 / 7));
  }
  std::string out = (type & 0x70) == 0x10 ? "+" : "";
  for (std::size_t i = 0; i < digits && i / 2 < octets.size(); ++i) {
    const unsigned digit = i % 2 == 0 ? byte(octets[i / 2]) & 0xF : byte(octets[i / 2]) >> 4;
    out += std::string_view("0123456789*#abc")[std::min(digit, 14U)];
  }
  return out;
}

// Seven octets, each two swapped digits; the zone counts quarter hours, its sign is bit 3 (TS
// 23.040 §9.2.3.11).
WallTime time_stamp(std::string_view octets) {
  using namespace std::chrono;
  if (octets.size() < 7) return {};
  const auto two = [&](std::size_t i) {
    return static_cast<int>((byte(octets[i]) & 0xF) * 10 + (byte(octets[i]) >> 4));
  };
  const year_month_day day(year(2000 + two(0)), month(static_cast<unsigned>(two(1))),
                           std::chrono::day(static_cast<unsigned>(two(2))));
  if (!day.ok() || two(3) > 23 || two(4) > 59 || two(5) > 59) return {};
  const unsigned zone = byte(octets[6]);
  const int quarters = static_cast<int>((zone & 0x7) * 10 + (zone >> 4));
  const auto offset = minutes(15 * ((zone & 0x8) != 0 ? -quarters : quarters));
  const auto at = sys_days(day) + hours(two(3)) + minutes(two(4)) + seconds(two(5)) - offset;
  return WallTime{microseconds(at.time_since_epoch()).count()};
}

// Information elements 00 and 08 say which piece of a joined text this is.
void read_header(std::string_view header, ReceivedText& out) {
  Cursor in(header);
  while (in.ok() && !in.rest().empty()) {
    const unsigned char kind = in.one();
    const auto value = in.take(in.one());
    const std::size_t size = kind == 0x00 ? 3 : kind == 0x08 ? 4 : 0;
    if (size == 0 || value.size() != size) continue;
    out.parts = byte(value[size - 2]);
    out.part = byte(value[size - 1]);
  }
}

enum class Alphabet { gsm7, data, ucs2 };

// TS 23.038 §4.
Alphabet alphabet_of(unsigned char dcs) {
  const unsigned group = dcs >> 4;
  if (group < 0x8) {
    const unsigned alphabet = dcs >> 2 & 0x3;
    return alphabet == 2 ? Alphabet::ucs2 : alphabet == 1 ? Alphabet::data : Alphabet::gsm7;
  }
  if (group == 0xE) return Alphabet::ucs2;
  if (group == 0xF) return (dcs & 0x4) != 0 ? Alphabet::data : Alphabet::gsm7;
  return Alphabet::gsm7;
}

Result<std::string> user_text(std::string_view data, std::size_t length, std::size_t header,
                              unsigned char dcs) {
  const Error cut_short{Errc::bad_input, "the text is shorter than it says"};
  switch (alphabet_of(dcs)) {
    case Alphabet::gsm7: {
      const std::size_t first = (header * 8 + 6) / 7;
      if (first > length || (length * 7 + 7) / 8 > data.size()) return cut_short;
      return gsm7_decoded(unpacked(data, first, length));
    }
    case Alphabet::ucs2:
      if (header > length || length > data.size()) return cut_short;
      return from_utf16(data.substr(header, length - header));
    case Alphabet::data:
      break;
  }
  return Error{Errc::bad_input, "8-bit data is no text"};
}

}  // namespace

std::vector<SubmitPdu> submit_pdus(std::string_view phone, std::string_view text,
                                   std::uint8_t reference) {
  const auto codes = gsm7_codes(text);
  const Octets units = codes ? Octets() : utf16(text);
  const unsigned char dcs = codes ? dcs_gsm7 : dcs_ucs2;
  const bool alone =
      codes ? codes->size() <= segment_septets_max : units.size() <= ucs2_units_max * 2;
  if (alone) {
    return {codes ? submit(phone, dcs, codes->size(), false, packed(*codes, 0))
                  : submit(phone, dcs, units.size(), false, units)};
  }
  auto pieces = codes
                    ? split(*codes, joined_segment_septets_max, 1, [](char c) { return c == 0x1B; })
                    : split(units, joined_ucs2_units_max, 2,
                            [](char high) { return (byte(high) & 0xFC) == 0xD8; });
  pieces.resize(std::min(pieces.size(), submit_parts_max));
  std::vector<SubmitPdu> out;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const Octets header = joining_header(reference, i + 1, pieces.size());
    const std::size_t length = pieces[i].size() + (codes ? 7 : header.size());
    out.push_back(
        submit(phone, dcs, length, true, header + (codes ? packed(pieces[i], 1) : pieces[i])));
  }
  return out;
}

Result<ReceivedText> read_deliver(std::string_view hex) {
  const auto octets = from_hex(hex);
  if (!octets) return Error{Errc::bad_input, "not hexadecimal"};
  Cursor in(*octets);
  in.take(in.one());  // The centre's address.
  const unsigned char first = in.one();
  if (!in.ok() || (first & 0x3) != 0) return Error{Errc::bad_input, "not an SMS-DELIVER"};
  ReceivedText out;
  out.from = address(in);
  in.one();  // Protocol identifier.
  const unsigned char dcs = in.one();
  out.sent_at = time_stamp(in.take(7));
  const std::size_t length = in.one();
  if (!in.ok()) return Error{Errc::bad_input, "cut short"};
  if ((dcs & 0xE0) == 0x20) return Error{Errc::bad_input, "compressed text"};
  const std::string_view data = in.rest().substr(0, octets_max);
  std::size_t header = 0;
  if ((first & 0x40) != 0) {
    header = data.empty() ? 1 : std::size_t{1} + byte(data.front());
    if (header > data.size()) return Error{Errc::bad_input, "cut short"};
    read_header(data.substr(1, header - 1), out);
  }
  auto text = user_text(data, length, header, dcs);
  if (!text) return text.error();
  out.text = std::move(text.value());
  return out;
}

std::string ucs2_hex(std::string_view utf8) {
  return to_hex(utf16(utf8));
}

Result<std::string> from_ucs2_hex(std::string_view hex) {
  const auto octets = from_hex(hex);
  if (!octets || octets->size() % 2 != 0) return Error{Errc::bad_input, "not UCS-2 in hexadecimal"};
  return from_utf16(*octets);
}

}  // namespace ebbwatch
