// The e-mail notifier against aiosmtpd, scripted in tests/counterparts/mail_server.py, and against
// postfix's smtp-sink. Mails are read back by Python's own parser.
#include <doctest/doctest.h>

#include <unistd.h>

#include <chrono>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

struct Arrival {
  Attempts attempts;
  std::vector<boost::json::value> mails;
  const Outcome& outcome() const { return attempts.outcomes.front(); }
  std::string kind() const { return shown(outcome().kind); }
};

// One delivery to a mail server that behaves as asked.
Arrival send(const std::string& behaviour, Message message = loss_message(),
             Span limit = Span::of_s(8)) {
  Bench bench(limit);
  const auto server = mail_server(bench, behaviour);
  const auto notifier = bench.make(email_to(server->port()));
  Arrival arrival;
  arrival.attempts = bench.deliver_all(*notifier, {std::move(message)});
  arrival.mails = bench.log("mail.log");
  return arrival;
}

std::vector<std::string> tls_options(const Bench& bench) {
  return {"--certificate", bench.path("server.pem"), "--key", bench.path("server.key")};
}

}  // namespace

TEST_CASE("email: what arrives is a mail without defects") {
  const Message message = loss_message();
  const Arrival arrival = send("accept", message);
  REQUIRE(arrival.kind() == "delivered");
  CHECK(arrival.outcome().answer == "SMTP 250 2.0.0 kept");
  REQUIRE(arrival.mails.size() == 1);
  const auto& mail = arrival.mails.front();
  CHECK(text_at(mail, "/defects") == "[]");
  CHECK(text_at(mail, "/bare_line_ends") == "0");
  CHECK(text_at(mail, "/ascii") == "true");
  CHECK(text_at(mail, "/headers/Subject") == message.subject);
  CHECK(text_at(mail, "/headers/From") == "ebbwatch harbour <tanks@example.net>");
  CHECK(text_at(mail, "/headers/To") == "Robin <robin@example.net>");
  CHECK(text_at(mail, "/headers/Message-ID") == "<" + message.notice + "@example.net>");
  CHECK(text_at(mail, "/headers/Auto-Submitted") == "auto-generated");
  CHECK(text_at(mail, "/headers/MIME-Version") == "1.0");
  CHECK(text_at(mail, "/text") == message.text);
  CHECK(std::stoi(text_at(mail, "/raw_columns")) <= 78);
  CHECK(text_at(mail, "/sender") == "tanks@example.net");
  CHECK(text_at(mail, "/recipients/0") == "robin@example.net");
  CHECK(text_at(mail, "/helo") == "example.net");
}

TEST_CASE("email: other scripts, long subjects and awkward lines survive the way") {
  Message message = loss_message();
  message.to_name = "Jürgen \"Jo\" Groß, Tauchklub";
  message.subject =
      "Becken „Riff“: kein Kontakt seit 12 min, Батарея \U0001F41F und noch viel mehr Text";
  message.text =
      "Zürich – 26 °C\n.\n..zwei Punkte\nFrom the start\n\nEnde mit Leerzeichen \n=3D = ok\t\n"
      "Eine Zeile mit achtundsiebzig Zeichen, die Umlaute äöü hat und ganz genau passt.\n";
  const Arrival arrival = send("accept", message);
  REQUIRE(arrival.mails.size() == 1);
  const auto& mail = arrival.mails.front();
  CHECK(text_at(mail, "/defects") == "[]");
  CHECK(text_at(mail, "/headers/Subject") == message.subject);
  CHECK(text_at(mail, "/headers/To").find("robin@example.net") != std::string::npos);
  CHECK(text_at(mail, "/headers/To").find("Jürgen") != std::string::npos);
  CHECK(text_at(mail, "/text") == message.text);
  CHECK(std::stoi(text_at(mail, "/raw_columns")) <= 78);
}

TEST_CASE("email: a recovery stands in the thread of its loss") {
  Message message = loss_message("017f22e2-79b0-7cc3-98c4-000000000002");
  message.first_notice = "017f22e2-79b0-7cc3-98c4-000000000001";
  const Arrival arrival = send("accept", message);
  REQUIRE(arrival.mails.size() == 1);
  const std::string loss = "<" + message.first_notice + "@example.net>";
  CHECK(text_at(arrival.mails[0], "/headers/In-Reply-To") == loss);
  CHECK(text_at(arrival.mails[0], "/headers/References") == loss);
}

TEST_CASE("email: nothing can be injected into the header") {
  Message message = loss_message();
  message.subject = "Lagoon\r\nBcc: eve@example.com\r\n\r\nHello";
  message.to_name = "Robin\nX-Evil: 1";
  const Arrival arrival = send("accept", message);
  REQUIRE(arrival.mails.size() == 1);
  CHECK(text_at(arrival.mails[0], "/header_count") == "9");
  CHECK(text_at(arrival.mails[0], "/headers/Subject") == "Lagoon  Bcc: eve@example.com    Hello");
  CHECK(text_at(arrival.mails[0], "/recipients") == R"(["robin@example.net"])");
}

TEST_CASE("email: an address with a line end in it never reaches the server") {
  Message message = loss_message();
  message.to_email = "robin@example.net>\r\nRCPT TO:<eve@example.com";
  const Arrival arrival = send("accept", message);
  CHECK(arrival.kind() == "rejected_forever");
  CHECK(arrival.mails.empty());
}

// RFC 5321 §4.2.1: the first digit decides.
TEST_CASE("email: replies to the recipient and to the text decide") {
  CHECK(send("refuse").kind() == "rejected_forever");
  CHECK(send("refuse").outcome().answer == "SMTP 550 5.1.1 no such mailbox here");
  CHECK(send("later").kind() == "retry_later");
  CHECK(send("refuse_text").kind() == "rejected_forever");
  CHECK(send("later_text").kind() == "retry_later");
}

// RFC 5321 §4.5.3.1.10: 552 at RCPT is to be treated as transient.
TEST_CASE("email: 552 for the recipient is transient") {
  CHECK(send("too_many_recipients").kind() == "retry_later");
}

TEST_CASE("email: busy at first, then taken") {
  Bench bench;
  const auto server = mail_server(bench, "later_once");
  const auto notifier = bench.make(email_to(server->port()));
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "retry_later");
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
  CHECK(bench.log("mail.log").size() == 1);
}

TEST_CASE("email: before the final dot a lost connection means not delivered") {
  CHECK(send("hang_up").kind() == "retry_later");
  CHECK(send("hang_at_recipient", loss_message(), Span::of_s(1)).kind() == "retry_later");
}

TEST_CASE("email: after the final dot nobody knows") {
  const Arrival cut = send("hang_up_after_text");
  CHECK(cut.kind() == "unknown");
  CHECK(cut.mails.size() == 1);
  const Arrival silent = send("hang_after_text", loss_message(), Span::of_s(1));
  CHECK(silent.kind() == "unknown");
  CHECK(silent.attempts.took.seconds() < 5);
}

// libcurl would wait for the answer to QUIT without returning to the loop.
TEST_CASE("email: a server that does not answer QUIT holds nobody up") {
  for (const char* behaviour : {"hang_at_quit", "refuse_and_hang_at_quit"}) {
    CAPTURE(behaviour);
    const Arrival arrival = send(behaviour);
    CHECK(arrival.kind() != "unknown");
    CHECK(arrival.attempts.longest_stall < Span::of_ms(800));
    CHECK(arrival.attempts.took < Span::of_s(4));
  }
}

TEST_CASE("email: STARTTLS is used when offered, and the certificate is verified") {
  Bench bench;
  make_certificates(bench, "IP:127.0.0.1");
  const auto server = mail_server(bench, "accept", tls_options(bench));
  auto settings = email_to(server->port());

  const auto distrusting = bench.make(settings);
  const Outcome refused = bench.deliver(*distrusting, loss_message());
  CHECK(kind_of(refused) == "retry_later");
  CHECK(refused.answer.find("certificate") != std::string::npos);
  CHECK(bench.log("mail.log").empty());

  settings.email.ca_file = {SecretSource::Kind::file, "ca.pem"};  // Beside the configuration.
  for (const auto how : {StartTls::when_offered, StartTls::required}) {
    settings.email.starttls = how;
    const auto notifier = bench.make(settings);
    CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
    CHECK(text_at(bench.log("mail.log").back(), "/encrypted") == "true");
  }
  settings.email.starttls = StartTls::never;
  const auto open = bench.make(settings);
  CHECK(kind_of(bench.deliver(*open, loss_message())) == "delivered");
  CHECK(text_at(bench.log("mail.log").back(), "/encrypted") == "false");
}

TEST_CASE("email: a certificate for another name is refused") {
  Bench bench;
  make_certificates(bench, "DNS:other.example.net");
  auto options = tls_options(bench);
  options.emplace_back("--implicit-tls");
  const auto server = mail_server(bench, "accept", options);
  auto settings = email_to(server->port());
  settings.email.servers = {"smtps://127.0.0.1:" + std::to_string(server->port())};
  settings.email.ca_file = {SecretSource::Kind::file, "ca.pem"};
  const auto notifier = bench.make(settings);
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "retry_later");
  CHECK(bench.log("mail.log").empty());
}

TEST_CASE("email: smtps from the first byte, with a password") {
  Bench bench;
  make_certificates(bench, "IP:127.0.0.1");
  auto options = tls_options(bench);
  for (const char* option : {"--implicit-tls", "--user", "tanks", "--password", "open sesame"}) {
    options.emplace_back(option);
  }
  const auto server = mail_server(bench, "accept", options);
  auto settings = email_to(server->port());
  settings.email.servers = {"smtps://127.0.0.1:" + std::to_string(server->port())};
  settings.email.ca_file = {SecretSource::Kind::file, bench.path("ca.pem")};
  settings.email.user = "tanks";
  settings.email.password = bench.secret("mail.secret", "open sesame\n");
  const auto notifier = bench.make(settings);
  CHECK(kind_of(bench.deliver(*notifier, loss_message())) == "delivered");
  CHECK(text_at(bench.log("mail.log").back(), "/authenticated") == "true");
  CHECK(text_at(bench.log("mail.log").back(), "/encrypted") == "true");
}

TEST_CASE("email: a wrong password is refused for good and is not shown") {
  Bench bench;
  const auto server =
      mail_server(bench, "accept", {"--user", "tanks", "--password", "open sesame"});
  auto settings = email_to(server->port());
  settings.email.user = "tanks";
  settings.email.password = bench.secret("mail.secret", "wrong-password");
  const auto notifier = bench.make(settings);
  const Outcome outcome = bench.deliver(*notifier, loss_message());
  CHECK(kind_of(outcome) == "rejected_forever");
  CHECK(outcome.answer.find("535") != std::string::npos);
  CHECK(outcome.answer.find("wrong-password") == std::string::npos);
}

TEST_CASE("email: required encryption that is not offered is refused, and nothing is sent open") {
  Bench bench;
  const auto server = mail_server(bench, "accept");
  auto settings = email_to(server->port());
  settings.email.starttls = StartTls::required;
  const auto notifier = bench.make(settings);
  const Outcome outcome = bench.deliver(*notifier, loss_message());
  CHECK(kind_of(outcome) == "rejected_forever");
  CHECK(outcome.answer.find("STARTTLS") != std::string::npos);
  CHECK(bench.log("mail.log").empty());
}

TEST_CASE("email: a password goes over an open connection only within this machine") {
  Bench bench;
  const auto server =
      mail_server(bench, "accept", {"--user", "tanks", "--password", "open sesame"});
  auto settings = email_to(server->port());
  settings.email.user = "tanks";
  settings.email.password = bench.secret("mail.secret", "open sesame");
  CHECK(kind_of(bench.deliver(*bench.make(settings), loss_message())) == "delivered");

  settings.email.servers = {"smtp://mail.example.net:" + std::to_string(server->port())};
  const Outcome outcome = bench.deliver(*bench.make(settings), loss_message());
  CHECK(kind_of(outcome) == "rejected_forever");
  CHECK(outcome.answer.find("STARTTLS") != std::string::npos);

  settings.email.starttls = StartTls::never;  // The owner's own word.
  CHECK(kind_of(bench.deliver(*bench.make(settings), loss_message())) == "delivered");
  CHECK(bench.log("mail.log").size() == 2);
}

TEST_CASE("email: the next server is asked at once, when that may help") {
  struct Story {
    const char *first, *kind;
    std::size_t arrived;  // At the second server.
  };
  for (const Story& story :
       {Story{"later", "delivered", 1}, Story{"later_text", "delivered", 1},
        Story{"hang_up", "delivered", 1}, Story{"refuse", "rejected_forever", 0},
        Story{"hang_up_after_text", "unknown", 0}}) {
    CAPTURE(story.first);
    Bench bench;
    const auto second = mail_server(bench, "accept");
    Bench elsewhere;  // The other server's log is its own.
    const auto first = mail_server(elsewhere, story.first);
    auto settings = email_to(first->port());
    settings.email.servers.push_back("smtp://127.0.0.1:" + std::to_string(second->port()));
    CHECK(kind_of(bench.deliver(*bench.make(settings), loss_message())) == story.kind);
    CHECK(bench.log("mail.log").size() == story.arrived);
  }
}

TEST_CASE("email: servers that are away, or whose certificate is bad, are passed over") {
  Bench bench;
  make_certificates(bench, "DNS:other.example.net");
  Bench elsewhere;
  const auto distrusted = mail_server(elsewhere, "accept", tls_options(bench));
  const auto good = mail_server(bench, "accept");
  auto settings = email_to(free_port());
  for (const auto* server : {&distrusted, &good}) {
    settings.email.servers.push_back("smtp://127.0.0.1:" + std::to_string((*server)->port()));
  }
  CHECK(kind_of(bench.deliver(*bench.make(settings), loss_message())) == "delivered");
  CHECK(elsewhere.log("mail.log").empty());
  CHECK(bench.log("mail.log").size() == 1);

  settings.email.servers.pop_back();
  const Outcome none = bench.deliver(*bench.make(settings), loss_message());
  CHECK(kind_of(none) == "retry_later");
  CHECK(none.answer.find("; smtp://127.0.0.1") != std::string::npos);  // Each with its own reason.
}

TEST_CASE("email: a check logs in and sends nothing") {
  Bench bench;
  const auto server =
      mail_server(bench, "accept", {"--user", "tanks", "--password", "open sesame"});
  auto settings = email_to(server->port());
  settings.email.user = "tanks";
  for (const char* password : {"open sesame", "wrong"}) {
    settings.email.password = bench.secret("mail.secret", password);
    const auto found = bench.check(*bench.make(settings));
    REQUIRE(found);
    CHECK((found->kind == Outcome::Kind::delivered) == (password == std::string("open sesame")));
  }
  CHECK(bench.log("mail.log").empty());
}

TEST_CASE("email: a from that is no address is an error at the start") {
  Bench bench;
  auto settings = email_to(25);
  settings.email.from = "Tanks <tanks@example.net>";
  CHECK(bench.fault(settings).find("notifier mail: from") == 0);
}

// smtp-sink(1) of postfix: -r and -f give soft and hard errors, -q hangs up, -Q says 421 first.
TEST_CASE("email: postfix's smtp-sink in all its moods") {
  struct Mood {
    std::vector<std::string> options;
    const char* kind;
  };
  const Mood moods[] = {{{}, "delivered"},
                        {{"-r", "rcpt"}, "retry_later"},
                        {{"-r", "data"}, "retry_later"},
                        {{"-r", "."}, "retry_later"},
                        {{"-f", "rcpt"}, "rejected_forever"},
                        {{"-f", "."}, "rejected_forever"},
                        {{"-Q", "rcpt"}, "retry_later"},
                        {{"-q", "rcpt"}, "retry_later"},
                        {{"-q", "."}, "unknown"}};
  for (const Mood& mood : moods) {
    CAPTURE(mood.kind);
    Bench bench(Span::of_s(5));
    const auto port = free_port();
    std::vector<std::string> command{"/usr/sbin/smtp-sink"};
    if (geteuid() == 0) command.insert(command.end(), {"-u", "nobody"});  // It wants that of root.
    command.insert(command.end(), mood.options.begin(), mood.options.end());
    command.push_back("127.0.0.1:" + std::to_string(port));
    command.emplace_back("10");
    const Counterpart sink(command, bench.path("sink.out"));
    REQUIRE(holds_within(std::chrono::seconds(10), [&] { return can_connect(port); }));
    const auto notifier = bench.make(email_to(port));
    CHECK(kind_of(bench.deliver(*notifier, loss_message())) == mood.kind);
  }
}
