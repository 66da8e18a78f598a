#include "set_ups.h"

#include <doctest/doctest.h>

#include <chrono>
#include <utility>

namespace ebbwatch::test {
namespace {

const std::string python = "/usr/bin/python3";  // Debian's: the one that has aiosmtpd.

std::unique_ptr<Counterpart> started(std::vector<std::string> command,
                                     std::vector<std::string> options, const std::string& output) {
  for (auto& option : options) command.push_back(std::move(option));
  return std::make_unique<Counterpart>(std::move(command), output);
}

std::string loopback_url(const std::string& scheme, std::uint16_t port, const std::string& path) {
  return scheme + "://127.0.0.1:" + std::to_string(port) + path;
}

void run(const Bench& bench, std::vector<std::string> command, const std::string& made) {
  Counterpart tool(std::move(command), bench.path("tool.out"));
  const bool done = holds_within(std::chrono::seconds(30), [&] {
    return !read_file(bench.path(made)).empty() || tool.output().find("rror") != std::string::npos;
  });
  // The file grows while it is written; the tool ends right after.
  holds_within(std::chrono::milliseconds(300), [] { return false; });
  REQUIRE_MESSAGE(done, tool.output());
}

}  // namespace

std::unique_ptr<Counterpart> mail_server(const Bench& bench, const std::string& behaviour,
                                         std::vector<std::string> options) {
  return started({python, counterpart_path("mail_server.py"), "--behaviour", behaviour, "--log",
                  bench.path("mail.log")},
                 std::move(options), bench.path("mail.out"));
}

std::unique_ptr<Counterpart> http_receiver(const Bench& bench, std::vector<std::string> options) {
  return started({python, counterpart_path("http_receiver.py"), "--log", bench.path("http.log")},
                 std::move(options), bench.path("http.out"));
}

std::unique_ptr<Counterpart> modem(const Bench& bench, const std::string& behaviour,
                                   const std::vector<std::string>& options, bool with_inbox) {
  std::vector<std::string> command{
      python,  counterpart_path("modem.py"), "--link",      bench.path("modem.device"),
      "--log", bench.path("modem.log"),      "--behaviour", behaviour};
  for (const auto& option : options) command.insert(command.end(), {"--option", option});
  if (with_inbox) command.insert(command.end(), {"--inbox", bench.path("inbox")});
  auto made = std::make_unique<Counterpart>(std::move(command), bench.path("modem.out"));
  const bool ready = holds_within(
      std::chrono::seconds(20), [&] { return made->output().find("ready") != std::string::npos; });
  REQUIRE_MESSAGE(ready, made->output());
  return made;
}

NotifierSettings email_to(std::uint16_t port) {
  NotifierSettings notifier;
  notifier.id = "mail";
  notifier.kind = NotifierKind::email;
  notifier.email.servers = {loopback_url("smtp", port, "")};
  notifier.email.from = "tanks@example.net";
  return notifier;
}

NotifierSettings webhook_to(std::uint16_t port, const std::string& path) {
  NotifierSettings notifier;
  notifier.id = "hook";
  notifier.kind = NotifierKind::webhook;
  notifier.webhook.url = loopback_url("http", port, path);
  return notifier;
}

NotifierSettings sms_gateway_to(std::uint16_t port, const std::string& path) {
  NotifierSettings notifier;
  notifier.id = "text";
  notifier.kind = NotifierKind::sms_gateway;
  notifier.sms_gateway.url = loopback_url("http", port, path);
  notifier.sms_gateway.fields = {{"to", "{phone}"}, {"text", "{text}"}, {"id", "{notice}"}};
  return notifier;
}

NotifierSettings modem_at(const Bench& bench) {
  NotifierSettings notifier;
  notifier.id = "modem";
  notifier.kind = NotifierKind::gsm_modem;
  notifier.modem.device = bench.path("modem.device");
  notifier.modem.time_limit = Span::of_s(10);
  return notifier;
}

NotifierSettings program_to(const Bench& bench, std::vector<std::string> arguments) {
  NotifierSettings notifier;
  notifier.id = "siren";
  notifier.kind = NotifierKind::program;
  notifier.program.command = {counterpart_path("program.sh"), arguments.front(),
                              bench.path("program.log")};
  for (std::size_t i = 1; i < arguments.size(); ++i) {
    notifier.program.command.push_back(arguments[i]);
  }
  return notifier;
}

void make_certificates(const Bench& bench, const std::string& host) {
  const std::string openssl = "/usr/bin/openssl";
  run(bench,
      {openssl, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
       "-nodes", "-days", "2", "-subj", "/CN=test authority", "-keyout", bench.path("ca.key"),
       "-out", bench.path("ca.pem")},
      "ca.pem");
  run(bench,
      {openssl,
       "req",
       "-x509",
       "-newkey",
       "ec",
       "-pkeyopt",
       "ec_paramgen_curve:prime256v1",
       "-nodes",
       "-days",
       "2",
       "-subj",
       "/CN=" + host,
       "-addext",
       "subjectAltName=" + host,
       "-addext",
       "basicConstraints=critical,CA:FALSE",
       "-CA",
       bench.path("ca.pem"),
       "-CAkey",
       bench.path("ca.key"),
       "-keyout",
       bench.path("server.key"),
       "-out",
       bench.path("server.pem")},
      "server.pem");
}

}  // namespace ebbwatch::test
