// A notice as a mail: RFC 5322 header, RFC 2047 encoded words, RFC 2045 quoted-printable. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/time.h"

namespace ebbwatch {

struct Mailbox {
  std::string name;     ///< UTF-8; may be empty.
  std::string address;  ///< "user@example.net", as settings/addresses.h has it.
};

struct Mail {
  Mailbox from, to;
  std::string subject;  ///< UTF-8. Control characters become spaces: nothing can be injected.
  std::string text;     ///< UTF-8, LF.
  WallTime date;
  std::string message_id;               ///< Without the angle brackets.
  std::vector<std::string> references;  ///< Message-IDs that this one continues, oldest first.
};

/// What follows the @ of an address.
std::string_view mail_domain(std::string_view address);

/// The complete message with CR LF lines of at most 78 columns (a single longer word of an
/// identifier excepted), not yet dot-stuffed. Headers: Date, From, To, Message-ID, In-Reply-To (the
/// last of the references), References, Subject, Auto-Submitted: auto-generated (RFC 3834), MIME.
std::string compose_mail(const Mail& mail);

/// RFC 2047 encoding "q" in UTF-8: words of at most 75 characters, split between characters only,
/// joined by CR LF SPACE; the first is shorter by `used`, what stands before it on its line.
std::string encoded_words(std::string_view utf8, std::size_t used);

/// RFC 2045 §6.7: lines of at most 76 characters, CR LF; soft breaks between characters only.
std::string quoted_printable(std::string_view utf8);

}  // namespace ebbwatch
