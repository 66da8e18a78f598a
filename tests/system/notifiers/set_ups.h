// Notifiers of each kind together with a counterpart that behaves as asked.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench.h"
#include "counterpart.h"

namespace ebbwatch::test {

/// Starts tests/counterparts/mail_server.py, logging to "mail.log" of the bench.
std::unique_ptr<Counterpart> mail_server(const Bench& bench, const std::string& behaviour,
                                         std::vector<std::string> options = {});
/// Starts tests/counterparts/http_receiver.py, logging to "http.log" of the bench.
std::unique_ptr<Counterpart> http_receiver(const Bench& bench,
                                           std::vector<std::string> options = {});

/// Starts tests/counterparts/modem.py at "modem.device", logging to "modem.log" of the bench.
/// @param with_inbox texts come in from the file "inbox".
std::unique_ptr<Counterpart> modem(const Bench& bench, const std::string& behaviour,
                                   const std::vector<std::string>& options = {},
                                   bool with_inbox = false);

NotifierSettings email_to(std::uint16_t port);
/// Signs with the key "hook.key" when the bench has written one.
NotifierSettings webhook_to(std::uint16_t port, const std::string& path);
NotifierSettings sms_gateway_to(std::uint16_t port, const std::string& path);
NotifierSettings modem_at(const Bench& bench);
NotifierSettings program_to(const Bench& bench, std::vector<std::string> arguments);

/// A self-made authority and a certificate for `host` signed by it: ca.pem, server.pem, server.key.
void make_certificates(const Bench& bench, const std::string& host);

}  // namespace ebbwatch::test
