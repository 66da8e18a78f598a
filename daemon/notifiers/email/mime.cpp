#include "notifiers/email/mime.h"

#include <algorithm>

#include "text/rfc3339.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr std::size_t line_columns_max = 78;          // RFC 5322 §2.1.1, recommended.
constexpr std::size_t encoded_line_columns_max = 76;  // RFC 2047 §2, RFC 2045 §6.7.
constexpr std::size_t encoded_word_max = 75;          // RFC 2047 §2.
constexpr std::string_view word_start = "=?utf-8?q?", word_end = "?=";

bool is_alphanumeric(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}
// RFC 5322 §3.2.3.
bool is_atom_char(char c) {
  return is_alphanumeric(c) ||
         std::string_view("!#$%&'*+-/=?^_`{|}~").find(c) != std::string_view::npos;
}
bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x80; });
}

std::string one_line(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = ' ';
  }
  const auto first = out.find_first_not_of(' ');
  if (first == std::string::npos) return "";
  return out.substr(first, out.find_last_not_of(' ') - first + 1);
}

void append_hex(std::string& out, char c) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  const auto byte = static_cast<unsigned char>(c);
  out += '=';
  out += digits[byte >> 4];
  out += digits[byte & 0xF];
}

// RFC 2047 §5 (3): what is safe even within a display name.
std::string encoded_character(std::string_view bytes) {
  if (bytes == " ") return "_";
  const char c = bytes.front();
  if (bytes.size() == 1 &&
      (is_alphanumeric(c) || std::string_view("!*+-/").find(c) != std::string_view::npos)) {
    return std::string(bytes);
  }
  std::string out;
  for (const char byte : bytes) append_hex(out, byte);
  return out;
}

// Folds at spaces (RFC 5322 §2.2.3); empty when a word is too long to be folded.
std::string folded(std::string_view text, std::size_t used) {
  std::string out;
  std::size_t column = used;
  while (!text.empty()) {
    const std::size_t space = text.find(' ', 1);
    const std::string_view word = text.substr(0, space);  // With the space before it.
    text.remove_prefix(word.size());
    if (word.size() > line_columns_max) return "";
    const bool blank = word.find_first_not_of(' ') == std::string_view::npos;
    if (column + word.size() > line_columns_max && !out.empty() && !blank) {
      out += "\r\n";
      column = 0;
    }
    if (column + word.size() > line_columns_max) return "";
    out += word;
    column += word.size();
  }
  return out;
}

std::string unstructured(std::string_view value, std::size_t used) {
  const std::string line = one_line(value);
  // A text that looks like an encoded word would be decoded by the reader.
  const bool plain = is_ascii(line) && line.find("=?") == std::string::npos;
  const std::string as_it_is = plain ? folded(line, used) : "";
  return as_it_is.empty() ? encoded_words(line, used) : as_it_is;
}

std::string quoted_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + "\"";
}

std::string display_name(std::string_view name, std::size_t used) {
  const bool atoms =
      std::all_of(name.begin(), name.end(), [](char c) { return is_atom_char(c) || c == ' '; });
  const std::string plain = atoms ? std::string(name) : quoted_string(name);
  const bool readable = is_ascii(name) && name.find("=?") == std::string_view::npos;
  return readable && used + plain.size() <= line_columns_max ? plain : encoded_words(name, used);
}

std::size_t last_line_columns(std::string_view text, std::size_t used) {
  const auto end = text.rfind('\n');
  return end == std::string_view::npos ? used + text.size() : text.size() - end - 1;
}

std::string mailbox(const Mailbox& box, std::size_t used) {
  const std::string address = "<" + box.address + ">";
  const std::string name = one_line(box.name);
  if (name.empty()) return box.address;
  const std::string shown = display_name(name, used);
  const bool fits = last_line_columns(shown, used) + 1 + address.size() <= encoded_line_columns_max;
  return shown + (fits ? " " : "\r\n ") + address;
}

std::string message_ids(const std::vector<std::string>& ids) {
  std::string out;
  for (const std::string& id : ids) out += (out.empty() ? "<" : "\r\n <") + one_line(id) + ">";
  return out;
}

// One line of text without its end. A space or tab at the end must not stand there bare.
void append_quoted_line(std::string& out, std::string_view line) {
  std::size_t column = 0;
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t bytes = code_point_at(line, at).bytes;
    const std::string_view character = line.substr(at, bytes);
    at += bytes;
    const char c = character.front();
    const bool last = at == line.size();
    const bool blank = (c == ' ' || c == '\t') && !last;
    std::string piece;
    if (blank || (c > ' ' && c < 0x7F && c != '=')) {
      piece = c;
    } else {
      for (const char byte : character) append_hex(piece, byte);
    }
    if (column + piece.size() > encoded_line_columns_max - (last ? 0 : 1)) {
      out += "=\r\n";
      column = 0;
    }
    out += piece;
    column += piece.size();
  }
}

}  // namespace

std::string_view mail_domain(std::string_view address) {
  return address.substr(address.find('@') + 1);
}

std::string encoded_words(std::string_view utf8, std::size_t used) {
  std::string out, word;
  const std::size_t overhead = word_start.size() + word_end.size();
  // A continuation line has one space before its word.
  const auto room = [&](std::size_t before) {
    return std::min(encoded_word_max,
                    encoded_line_columns_max - std::min(before, encoded_line_columns_max));
  };
  std::size_t left = room(used);
  for (std::size_t at = 0; at < utf8.size();) {
    const std::size_t bytes = code_point_at(utf8, at).bytes;
    const std::string next = encoded_character(utf8.substr(at, bytes));
    at += bytes;
    if (overhead + word.size() + next.size() > left) {
      if (!word.empty()) out.append(word_start).append(word).append(word_end);
      out += "\r\n ";
      word.clear();
      left = room(1);
    }
    word += next;
  }
  if (!word.empty()) out.append(word_start).append(word).append(word_end);
  return out;
}

std::string quoted_printable(std::string_view utf8) {
  std::string out;
  while (!utf8.empty()) {
    const auto end = utf8.find('\n');
    std::string_view line = utf8.substr(0, end);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    append_quoted_line(out, line);
    out += "\r\n";
    if (end == std::string_view::npos) break;
    utf8.remove_prefix(end + 1);
  }
  return out;
}

std::string compose_mail(const Mail& mail) {
  std::string out;
  const auto header = [&](std::string_view name, std::string_view value) {
    out.append(name).append(": ").append(value).append("\r\n");
  };
  constexpr std::size_t from_used = 6, to_used = 4, subject_used = 9;  // "From: " and so on.
  header("Date", to_mail_date(mail.date));
  header("From", mailbox(mail.from, from_used));
  header("To", mailbox(mail.to, to_used));
  header("Message-ID", "<" + one_line(mail.message_id) + ">");
  if (!mail.references.empty()) {
    header("In-Reply-To", message_ids({mail.references.back()}));
    header("References", message_ids(mail.references));
  }
  header("Subject", unstructured(mail.subject, subject_used));
  header("Auto-Submitted", "auto-generated");
  header("MIME-Version", "1.0");
  header("Content-Type", "text/plain; charset=utf-8");
  header("Content-Transfer-Encoding", "quoted-printable");
  return out + "\r\n" + quoted_printable(mail.text);
}

}  // namespace ebbwatch
