#include "notifiers/email/mime.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

using namespace ebbwatch;

namespace {

Mail sample() {
  Mail mail;
  mail.from = {"ebbwatch harbour", "tanks@example.net"};
  mail.to = {"Robin", "robin@example.net"};
  mail.subject = "Lagoon reef: no contact for 12 min";
  mail.text = "No contact.\n";
  mail.date = {1645557742'000'000};
  mail.message_id = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f@example.net";
  return mail;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    if (!line.empty() && line.back() == '\r') line.pop_back();
    out.push_back(line);
  }
  return out;
}

std::size_t longest_line(const std::string& text) {
  std::size_t longest = 0;
  for (const auto& line : lines_of(text)) longest = std::max(longest, line.size());
  return longest;
}

std::string times(std::size_t count, const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < count; ++i) out += text;
  return out;
}

}  // namespace

TEST_CASE("mime: a whole mail, byte for byte") {
  Mail mail = sample();
  mail.references = {"first@example.net"};
  CHECK(compose_mail(mail) ==
        "Date: Tue, 22 Feb 2022 19:22:22 +0000\r\n"
        "From: ebbwatch harbour <tanks@example.net>\r\n"
        "To: Robin <robin@example.net>\r\n"
        "Message-ID: <017f22e2-79b0-7cc3-98c4-dc0c0c07398f@example.net>\r\n"
        "In-Reply-To: <first@example.net>\r\n"
        "References: <first@example.net>\r\n"
        "Subject: Lagoon reef: no contact for 12 min\r\n"
        "Auto-Submitted: auto-generated\r\n"
        "MIME-Version: 1.0\r\n"
        "Content-Type: text/plain; charset=utf-8\r\n"
        "Content-Transfer-Encoding: quoted-printable\r\n"
        "\r\n"
        "No contact.\r\n");
}

TEST_CASE("mime: the first mail of a thread refers to nothing") {
  const std::string mail = compose_mail(sample());
  CHECK(mail.find("In-Reply-To") == std::string::npos);
  CHECK(mail.find("References") == std::string::npos);
}

// The value is what Python's email package writes for the same text.
TEST_CASE("mime: encoded words as another implementation writes them") {
  CHECK(encoded_words("Becken „Riff“: kein Kontakt seit 12 min", 0) ==
        "=?utf-8?q?Becken_=E2=80=9ERiff=E2=80=9C=3A_kein_Kontakt_seit_12_min?=");
}

// RFC 2047 §2: 75 characters a word, 76 a line; §5 (3): only between characters.
TEST_CASE("mime: encoded words keep their length and never split a character") {
  for (const std::string& text : {times(60, "ä"), times(40, "\U0001F41F"), times(200, "a"),
                                  times(30, "€ "), std::string("é") + times(90, "x")}) {
    for (const std::size_t used : {0U, 9U, 40U, 75U}) {
      CAPTURE(used);
      const auto lines = lines_of(encoded_words(text, used));
      std::string decoded_bytes;
      for (std::size_t i = 0; i < lines.size(); ++i) {
        std::string word = lines[i];
        CHECK(word.size() + (i == 0 ? used : 0) <= 76);
        if (word.empty()) continue;
        if (i > 0) word.erase(0, 1);
        REQUIRE(word.size() <= 75);
        REQUIRE(word.rfind("=?utf-8?q?", 0) == 0);
        // A first byte 10xxxxxx would be the rest of a character of the word before.
        const std::string first = word.substr(10, 2);
        CHECK_FALSE((first == "=8" || first == "=9" || first == "=A" || first == "=B"));
      }
    }
  }
}

TEST_CASE("mime: long subjects are folded at their spaces") {
  Mail mail = sample();
  mail.subject = times(12, "Lagoon reef ") + "end";
  const std::string composed = compose_mail(mail);
  CHECK(longest_line(composed) <= 78);
  CHECK(composed.find("\r\n reef") + composed.find("\r\n Lagoon") != 2 * std::string::npos);
  CHECK(composed.find("=?") == std::string::npos);
}

TEST_CASE("mime: a subject that cannot be folded is encoded instead") {
  Mail mail = sample();
  mail.subject = times(100, "x");
  CHECK(longest_line(compose_mail(mail)) <= 78);
  mail.subject = "looks =?utf-8?q?encoded?= but is not";
  CHECK(compose_mail(mail).find("Subject: =?utf-8?q?looks_=3D=3Futf") != std::string::npos);
}

TEST_CASE("mime: control characters cannot make a header of their own") {
  Mail mail = sample();
  mail.subject = std::string("a\r\nBcc: eve@example.com\0b", 25);
  mail.to.name = "R\r\nX-Evil: 1";
  mail.message_id = "id\r\nX-Evil: 2@example.net";
  for (const auto& line : lines_of(compose_mail(mail))) {
    CHECK(line.rfind("Bcc:", 0) == std::string::npos);
    CHECK(line.rfind("X-Evil:", 0) == std::string::npos);
    CHECK(line.find('\0') == std::string::npos);
  }
}

// RFC 5322 §3.2.4 and §3.4: specials in a display name stand in quotes.
TEST_CASE("mime: names with specials are quoted, other scripts encoded") {
  Mail mail = sample();
  mail.to.name = "Reef, \"Jo\" \\ Robin";
  CHECK(compose_mail(mail).find("To: \"Reef, \\\"Jo\\\" \\\\ Robin\" <robin@example.net>\r\n") !=
        std::string::npos);
  mail.to.name = "Jürgen";
  CHECK(compose_mail(mail).find("To: =?utf-8?q?J=C3=BCrgen?= <robin@example.net>\r\n") !=
        std::string::npos);
  mail.to.name = "";
  CHECK(compose_mail(mail).find("To: robin@example.net\r\n") != std::string::npos);
  mail.to.name = times(40, "ö");
  CHECK(longest_line(compose_mail(mail)) <= 78);
}

// RFC 2045 §6.7, its rules (1) to (5).
TEST_CASE("mime: quoted-printable") {
  CHECK(quoted_printable("plain\n") == "plain\r\n");
  CHECK(quoted_printable("26 °C\n") == "26 =C2=B0C\r\n");
  CHECK(quoted_printable("a=b\n") == "a=3Db\r\n");
  CHECK(quoted_printable("ends blank \n\ttab\t\n") == "ends blank=20\r\n\ttab=09\r\n");
  CHECK(quoted_printable("no line end") == "no line end\r\n");
  CHECK(quoted_printable("a\r\nb\n") == "a\r\nb\r\n");
  CHECK(quoted_printable("\n\n") == "\r\n\r\n");
  CHECK(quoted_printable("") == "");
  CHECK(quoted_printable(times(76, "x") + "\n") == times(76, "x") + "\r\n");
  CHECK(quoted_printable(times(77, "x") + "\n") == times(75, "x") + "=\r\nxx\r\n");
  CHECK(quoted_printable(std::string("\0\x1b", 2) + "\n") == "=00=1B\r\n");
}

TEST_CASE("mime: soft breaks keep lines within 76 columns and characters whole") {
  const std::string coded = quoted_printable(times(100, "€") + "\n");
  for (const auto& line : lines_of(coded)) {
    CHECK(line.size() <= 76);
    CHECK(line.rfind("=E2", 0) == 0);
  }
}
