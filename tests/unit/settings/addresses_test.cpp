#include "settings/addresses.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("addresses: URLs with their schemes, ports and IPv6 hosts") {
  for (const char* good : {"https://example.net", "http://192.0.2.1:8080/a?b=c",
                           "https://[2001:db8::1]:1/", "http://localhost/x#y"}) {
    CAPTURE(good);
    CHECK_FALSE(url_fault(good, {"https", "http"}).has_value());
  }
  for (const char* bad :
       {"", "example.net", "ftp://example.net", "https://", "https://:80", "https://a b",
        "https://example.net:0", "https://example.net:65536", "https://example.net:x",
        "https://[2001:db8::1", "https://[x]/", "https://[2001:db8::1]x",
        "https://user@example.net", "https://-a", "https://a..b"}) {
    CAPTURE(bad);
    CHECK(url_fault(bad, {"https", "http"}).has_value());
  }
  CHECK_FALSE(url_fault("smtp://m.example.net:25/", {"smtp"}, false).has_value());
  CHECK(url_fault("smtp://m.example.net/inbox", {"smtp"}, false).has_value());
}

TEST_CASE("addresses: host and port") {
  CHECK_FALSE(host_port_fault("192.0.2.53:53").has_value());
  CHECK_FALSE(host_port_fault("[2001:db8::53]:53").has_value());
  CHECK_FALSE(host_port_fault("r.example.net:853").has_value());
  for (const char* bad : {"", "192.0.2.53", ":53", "192.0.2.53:", "2001:db8::53:53", "a:b:1"}) {
    CAPTURE(bad);
    CHECK(host_port_fault(bad).has_value());
  }
}

TEST_CASE("addresses: only an IP address can be listened on") {
  for (const char* good : {"0.0.0.0", "127.0.0.1", "::", "2001:db8::1"}) {
    CHECK_FALSE(listen_address_fault(good).has_value());
  }
  CHECK(listen_address_fault("*")->hint == "Write 0.0.0.0 or ::.");
  CHECK(listen_address_fault("127.1").has_value());
}

TEST_CASE("addresses: E.164 numbers have a plus and at most 15 digits (ITU-T E.164 section 6)") {
  CHECK_FALSE(phone_fault("+15550100").has_value());
  CHECK_FALSE(phone_fault("+123456789012345").has_value());
  for (const char* bad : {"", "+", "+1234567890123456", "+05550100", "15550100", "+1555x100"}) {
    CAPTURE(bad);
    CHECK(phone_fault(bad).has_value());
  }
  CHECK(phone_fault("+1 (555) 01-00")->hint == "Write \"+15550100\".");
  CHECK(phone_fault("call me")->hint == "");
}

TEST_CASE("addresses: mailboxes of RFC 5321 with a dot-string local part") {
  for (const char* good : {"a@example.net", "first.last+tag@mail.example.net", "x@localhost"}) {
    CHECK_FALSE(mailbox_fault(good).has_value());
  }
  for (const char* bad :
       {"", "a", "@example.net", "a@", ".a@example.net", "a.@example.net", "a..b@example.net",
        "a b@example.net", "a@b@example.net", "Robin <a@example.net>"}) {
    CAPTURE(bad);
    CHECK(mailbox_fault(bad).has_value());
  }
}

TEST_CASE("addresses: language tags and topics") {
  for (const char* good : {"en", "de", "pt-BR", "gsw"}) CHECK_FALSE(language_fault(good));
  for (const char* bad : {"", "e", "EN", "english", "en_GB", "en-"}) CHECK(language_fault(bad));
  CHECK_FALSE(topic_fault("ebbwatch/+/check-in"));
  CHECK_FALSE(topic_fault("+"));
  for (const char* bad : {"", "ebbwatch/check-in", "a/+/+", "a/#", "a/b+/c"}) {
    CAPTURE(bad);
    CHECK(topic_fault(bad));
  }
}
