// The SMS gateway notifier against Kannel: bearerbox, smsbox and its fake SMSC, as in Debian 12.
#include <doctest/doctest.h>

#include <chrono>

#include "set_ups.h"
#include "text/gsm7.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using namespace std::chrono_literals;

namespace {

std::string configuration(const std::uint16_t (&port)[4]) {
  const auto text = [](std::uint16_t number) { return std::to_string(number); };
  return "group = core\nadmin-port = " + text(port[0]) +
         "\nadmin-interface = 127.0.0.1\nadmin-password = test\nsmsbox-port = " + text(port[1]) +
         "\nsmsbox-interface = 127.0.0.1\nbox-allow-ip = 127.0.0.1\ndlr-storage = internal\n\n"
         "group = smsc\nsmsc = fake\nsmsc-id = fake1\nport = " +
         text(port[2]) +
         "\nconnect-allow-ip = 127.0.0.1\n\n"
         "group = smsbox\nbearerbox-host = 127.0.0.1\nsendsms-port = " +
         text(port[3]) +
         "\nsendsms-interface = 127.0.0.1\nglobal-sender = 15550100\n\n"
         "group = sendsms-user\nusername = tanks\npassword = open-sesame\nconcatenation = true\n"
         "max-messages = 4\n";
}

// A whole gateway with a fake network behind it.
class Kannel {
 public:
  explicit Kannel(const Bench& bench) : bench_(bench) {
    for (auto& port : ports_) port = free_port();
    const std::string file = bench.path("kannel.conf");
    write_file(file, configuration(ports_));
    bearerbox_ = start({"/usr/sbin/bearerbox", "-v", "1", file}, "bearerbox.out");
    REQUIRE(holds_within(20s, [&] { return can_connect(ports_[1]) && can_connect(ports_[2]); }));
    network_ = start({"/usr/lib/kannel/test/fakesmsc", "-H", "127.0.0.1", "-r",
                      std::to_string(ports_[2]), "-m", "0", "1 2 text x"},
                     "network.out");
    smsbox_ = start({"/usr/sbin/smsbox", "-v", "1", file}, "smsbox.out");
    REQUIRE(holds_within(20s, [&] { return can_connect(ports_[3]); }));
    REQUIRE(holds_within(20s, [&] {
      return bearerbox_->output().find("Client connected from 127.0.0.1") != std::string::npos ||
             network_->output().find("onnect") != std::string::npos;
    }));
  }

  NotifierSettings settings(const std::string& password) const {
    auto settings = sms_gateway_to(ports_[3], "/cgi-bin/sendsms");
    settings.sms_gateway.fields = {
        {"username", "tanks"}, {"password", "{secret}"}, {"to", "{phone}"}, {"text", "{text}"}};
    settings.sms_gateway.accepted_status = {200, 202};
    settings.sms_gateway.secret = bench_.secret("sms.secret", password);
    return settings;
  }
  /// What the fake network printed, once it has `count` messages.
  std::string network(std::size_t count) const {
    const std::string mark = "Got message " + std::to_string(count) + ":";
    holds_within(20s, [&] { return network_->output().find(mark) != std::string::npos; });
    return network_->output();
  }
  void stop_network() { network_->stop(); }
  void stop_smsbox() { smsbox_->stop(); }

 private:
  std::unique_ptr<Counterpart> start(std::vector<std::string> command, const std::string& output) {
    return std::make_unique<Counterpart>(std::move(command), bench_.path(output));
  }
  const Bench& bench_;
  std::uint16_t ports_[4] = {};
  // Stopped in the opposite order.
  std::unique_ptr<Counterpart> bearerbox_, network_, smsbox_;
};

std::size_t count_of(const std::string& text, const std::string& word) {
  std::size_t count = 0;
  for (auto at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) ++count;
  return count;
}

}  // namespace

TEST_CASE("sms_gateway: through Kannel to the network") {
  Bench bench(Span::of_s(10));
  Kannel kannel(bench);
  const auto notifier = bench.make(kannel.settings("open-sesame"));

  Message message = loss_message();
  message.short_text = "Lagoon reef: no contact since 14:02, 26 C (last £ ä)";
  const Outcome first = bench.deliver(*notifier, message);
  CHECK(kind_of(first) == "delivered");
  CHECK(first.answer.find("HTTP 202: 0: Accepted for delivery") == 0);
  CHECK(kannel.network(1).find("Lagoon") != std::string::npos);

  // 160 septets, ends included, in one piece.
  message.short_text = "Begin " + std::string(150, 'x') + " End";
  REQUIRE(gsm7_septets(message.short_text) == 160);
  CHECK(kind_of(bench.deliver(*notifier, message)) == "delivered");
  const std::string arrived = kannel.network(2);
  CHECK(count_of(arrived, "Got message") == 2);
  CHECK((arrived.find(std::string(150, 'x')) != std::string::npos ||
         arrived.find("Begin+" + std::string(150, 'x') + "+End") != std::string::npos));

  const auto stranger = bench.make(kannel.settings("wrong-password"));
  const Outcome refused = bench.deliver(*stranger, message);
  CHECK(kind_of(refused) == "rejected_forever");
  CHECK(refused.answer.find("HTTP 403") == 0);
  CHECK(refused.answer.find("wrong-password") == std::string::npos);

  auto nobody = kannel.settings("open-sesame");
  nobody.sms_gateway.fields[2].second = "";
  CHECK(kind_of(bench.deliver(*bench.make(nobody), message)) == "rejected_forever");

  kannel.stop_network();
  const Outcome queued = bench.deliver(*notifier, message);
  CHECK(kind_of(queued) == "delivered");
  CHECK(queued.answer.find("Queued for later delivery") != std::string::npos);

  kannel.stop_smsbox();
  CHECK(kind_of(bench.deliver(*notifier, message)) == "retry_later");
}
