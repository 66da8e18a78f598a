// Reading of Signature-Input and Signature: as much of RFC 8941 (structured fields) as they need.
#include <charconv>
#include <string>

#include "crypto/digest.h"
#include "crypto/http_signature.h"

namespace ebbwatch {
namespace {

constexpr std::size_t field_bytes_max = 4096;
constexpr std::size_t components_max = 32;

/// Walks over a field from left to right; every step says whether it could be taken.
class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {}

  bool at_end() const { return at_ == text_.size(); }
  std::size_t position() const { return at_; }
  std::string_view since(std::size_t start) const { return text_.substr(start, at_ - start); }
  bool next_is(char c) const { return !at_end() && text_[at_] == c; }
  bool take(char c) {
    if (!next_is(c)) return false;
    ++at_;
    return true;
  }
  void skip_blanks() {
    while (next_is(' ') || next_is('\t')) ++at_;
  }
  /// §4.2.3.3: lower-case letter or `*`, then letters, digits and `_-.*`.
  bool take_key(std::string& out) {
    const auto start = at_;
    if (at_end() || !(is_lower(text_[at_]) || text_[at_] == '*')) return false;
    while (!at_end() && (is_lower(text_[at_]) || is_digit(text_[at_]) || is_one_of("_-.*"))) ++at_;
    out = since(start);
    return true;
  }
  /// §4.2.5: printable ASCII in quotes, with the quote and the backslash escaped.
  bool take_string(std::string& out) {
    if (!take('"')) return false;
    out.clear();
    while (!at_end() && !next_is('"')) {
      if (take('\\') && !is_one_of("\"\\")) return false;
      if (at_end() || text_[at_] < ' ' || text_[at_] > '~') return false;
      out += text_[at_++];
    }
    return take('"');
  }
  /// §4.2.4: at most 15 digits.
  bool take_integer(std::int64_t& out) {
    const auto start = at_;
    (void)take('-');
    while (!at_end() && is_digit(text_[at_])) ++at_;
    const auto digits = since(start);
    if (digits.size() > 16) return false;
    const auto end = digits.data() + digits.size();
    const auto [stop, error] = std::from_chars(digits.data(), end, out);
    return error == std::errc{} && stop == end;
  }
  /// §4.2.7.
  bool take_bytes(std::string& out) {
    if (!take(':')) return false;
    const auto end = text_.find(':', at_);
    if (end == std::string_view::npos) return false;
    auto bytes = from_base64(text_.substr(at_, end - at_));
    if (!bytes) return false;
    out = std::move(*bytes);
    at_ = end + 1;
    return true;
  }
  /// A token, boolean or number that nobody asks for.
  bool skip_bare_item() {
    const auto start = at_;
    while (!at_end() && !is_one_of(";, \t")) ++at_;
    return at_ != start;
  }

 private:
  static bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
  static bool is_digit(char c) { return c >= '0' && c <= '9'; }
  bool is_one_of(std::string_view set) const {
    return !at_end() && set.find(text_[at_]) != std::string_view::npos;
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

bool read_parameter(Scanner& in, const std::string& name, ReceivedSignature& out) {
  std::int64_t number = 0;
  if (name == "created" || name == "expires") {
    if (!in.take_integer(number)) return false;
    (name == "created" ? out.created : out.expires) = number;
    return true;
  }
  std::string text;
  if (!in.next_is('"')) {
    const bool must_be_text = name == "keyid" || name == "nonce" || name == "alg";
    return !must_be_text && in.skip_bare_item();
  }
  if (!in.take_string(text)) return false;
  if (name == "keyid") out.key_id = std::move(text);
  if (name == "nonce") out.nonce = std::move(text);
  if (name == "alg") out.algorithm = std::move(text);
  return true;
}

/// What a message may quote of a field that came from outside.
std::string shortened(const std::string& text) {
  constexpr std::size_t most = 60;
  return text.size() <= most ? text : text.substr(0, most) + "...";
}

Result<void> read_components(Scanner& in, ReceivedSignature& out) {
  const Error malformed{Errc::bad_input,
                        "Signature-Input is not of the form label=(\"name\" …);created=…."};
  if (!in.take('(')) return malformed;
  in.skip_blanks();
  while (!in.take(')')) {
    std::string name;
    if (!in.take_string(name) || out.components.size() == components_max) return malformed;
    if (in.next_is(';')) {
      return Error{Errc::bad_input, "The component \"" + shortened(name) +
                                        "\" in Signature-Input has parameters, which are not "
                                        "supported; sign it without."};
    }
    out.components.push_back(std::move(name));
    const auto before = in.position();
    in.skip_blanks();
    if (in.position() == before && !in.next_is(')')) return malformed;
  }
  return {};
}

Result<void> read_input(std::string_view field, ReceivedSignature& out) {
  const Error malformed{Errc::bad_input,
                        "Signature-Input is not of the form label=(\"name\" …);created=…."};
  Scanner in(field);
  in.skip_blanks();
  if (!in.take_key(out.label) || !in.take('=')) return malformed;
  const auto start = in.position();
  if (auto read = read_components(in, out); !read) return read;
  while (in.take(';')) {
    std::string name;
    if (!in.take_key(name)) return malformed;
    if (in.take('=') && !read_parameter(in, name, out)) {
      return Error{Errc::bad_input,
                   "Signature-Input: the value of " + shortened(name) + " is malformed."};
    }
  }
  out.parameters = in.since(start);
  in.skip_blanks();
  if (!in.at_end() && !in.next_is(',')) return malformed;
  return {};
}

}  // namespace

Result<ReceivedSignature> read_signature(std::string_view signature_input,
                                         std::string_view signature) {
  if (signature_input.size() > field_bytes_max || signature.size() > field_bytes_max) {
    return Error{Errc::bad_input, "Signature-Input or Signature is longer than 4096 bytes."};
  }
  ReceivedSignature out;
  if (auto read = read_input(signature_input, out); !read) return read.error();
  Scanner in(signature);
  do {
    std::string label;
    std::string bytes;
    in.skip_blanks();
    if (!in.take_key(label) || !in.take('=') || !in.take_bytes(bytes)) {
      return Error{Errc::bad_input, "Signature is not of the form label=:BASE64:."};
    }
    if (label == out.label) out.signature = std::move(bytes);
    in.skip_blanks();
  } while (in.take(','));
  if (!in.at_end()) return Error{Errc::bad_input, "Signature is not of the form label=:BASE64:."};
  if (out.signature.empty()) {
    return Error{Errc::bad_input, "Signature has no member with the label " + shortened(out.label) +
                                      " of Signature-Input."};
  }
  return out;
}

}  // namespace ebbwatch
