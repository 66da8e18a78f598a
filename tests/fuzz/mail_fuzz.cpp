// A notice as a mail: whatever people and servers wrote into names, subjects and texts, no field is
// added, and a reader gets the text again (notifiers/email/mime.h). Lines: names of sender and
// receiver, subject; the rest is the text. The decoders are written here
// from RFC 2047 §4.2 and RFC 2045 §6.7 (from memory).
#include "notifiers/email/mime.h"

#include <algorithm>
#include <vector>

#include "fuzz.h"

using namespace ebbwatch;

namespace {

int digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

char coded(std::string_view text, std::size_t at) {
  MUST(at + 2 < text.size() && digit(text[at + 1]) >= 0 && digit(text[at + 2]) >= 0);
  return static_cast<char>(digit(text[at + 1]) * 16 + digit(text[at + 2]));
}

std::string plain_of(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const auto end = text.find("\r\n");
    MUST(end != text.npos);
    std::string_view line = text.substr(0, end);
    text.remove_prefix(end + 2);
    MUST(line.size() <= 76);
    MUST(line.empty() || (line.back() != ' ' && line.back() != '\t'));
    const bool soft = line.ends_with('=');
    if (soft) line.remove_suffix(1);
    for (std::size_t i = 0; i < line.size(); ++i) {
      MUST(line[i] == '\t' || (line[i] >= ' ' && line[i] <= '~'));
      const bool code = line[i] == '=';
      out += code ? coded(line, i) : line[i];
      if (code) i += 2;
    }
    if (!soft) out += '\n';
  }
  return out;
}

/// An unstructured field's value, unfolded and with its encoded words read.
std::string words_of(std::string value) {
  constexpr std::string_view start = "=?utf-8?q?";
  value = fuzz::replaced(fuzz::replaced(value, "?=\r\n =?utf-8?q?", ""), "\r\n ", " ");
  if (!value.starts_with(start)) return value;
  MUST(value.ends_with("?="));
  std::string out;
  const std::string_view word = std::string_view(value).substr(start.size());
  for (std::size_t i = 0; i + 2 < word.size(); ++i) {
    const bool code = word[i] == '=';
    out += code ? coded(word, i) : word[i] == '_' ? ' ' : word[i];
    if (code) i += 2;
  }
  return out;
}

struct Field {
  std::string name, value;
};

std::vector<Field> fields_of(std::string_view head) {
  std::vector<Field> out;
  while (!head.empty()) {
    const auto end = head.find("\r\n");
    MUST(end != head.npos && end <= 998);  // RFC 5322 §2.1.1.
    const std::string_view line = head.substr(0, end);
    head.remove_prefix(end + 2);
    MUST(std::none_of(line.begin(), line.end(), [](char c) { return c < ' ' || c > '~'; }));
    if (line.starts_with(' ')) {
      MUST(!out.empty() && line.find_first_not_of(' ') != line.npos);
      out.back().value += "\r\n" + std::string(line);
      continue;
    }
    const auto colon = line.find(": ");
    MUST(colon != line.npos);
    out.push_back({std::string(line.substr(0, colon)), std::string(line.substr(colon + 2))});
  }
  return out;
}

std::string one_line(std::string text) {
  for (char& c : text) {
    if (static_cast<unsigned char>(c) < ' ' || c == 0x7F) c = ' ';
  }
  text.erase(0, std::min(text.find_first_not_of(' '), text.size()));
  text.erase(text.find_last_not_of(' ') + 1);
  return text;
}

std::string lines_of(std::string text) {
  text = fuzz::replaced(text, "\r\n", "\n");
  if (!text.empty() && text.back() == '\r') text.back() = '\n';  // A last line without its LF.
  return text.empty() || text.back() == '\n' ? text : text + "\n";
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  Mail mail;
  mail.from = {std::string(in.line()), "watch@example.net"};
  mail.to = {std::string(in.line()), "ada@example.org"};
  mail.subject = in.line();
  mail.message_id = "0198c0de@example.net";
  mail.references = {"first@example.net", "second@example.net"};
  mail.text = in.rest();
  const std::string whole = compose_mail(mail);
  const auto end = whole.find("\r\n\r\n");
  MUST(end != whole.npos);
  const auto fields = fields_of(std::string_view(whole).substr(0, end + 2));
  static const std::vector<std::string> names{"Date",
                                              "From",
                                              "To",
                                              "Message-ID",
                                              "In-Reply-To",
                                              "References",
                                              "Subject",
                                              "Auto-Submitted",
                                              "MIME-Version",
                                              "Content-Type",
                                              "Content-Transfer-Encoding"};
  MUST(fields.size() == names.size());
  for (std::size_t i = 0; i < names.size(); ++i) MUST(fields[i].name == names[i]);
  MUST(fields[1].value.ends_with("watch@example.net") || fields[1].value.ends_with("net>"));
  MUST(words_of(fields[6].value) == one_line(mail.subject));
  MUST(plain_of(std::string_view(whole).substr(end + 4)) == lines_of(mail.text));
  return 0;
}
