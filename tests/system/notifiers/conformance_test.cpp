// What every notifier must do, whatever carries the notice. A new kind is one more row of `kinds`.
#include <doctest/doctest.h>

#include <functional>
#include <set>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

// A bench with one notifier and the counterpart that receives from it.
struct Stage {
  Bench bench{Span::of_s(2)};
  std::unique_ptr<Counterpart> counterpart;
  std::unique_ptr<Notifier> notifier;
  std::string log;
  bool only_text_arrives = false;  ///< A telephone sees no identifier, so the text stands for it.

  Attempts deliver(std::vector<Message> messages) {
    for (Message& message : messages) {
      if (only_text_arrives) message.short_text = message.notice + " " + message.short_text;
    }
    return bench.deliver_all(*notifier, std::move(messages));
  }
  std::vector<std::string> received() const {
    std::vector<std::string> out;
    for (const auto& entry : bench.log(log)) {
      const char* places[] = {"/id", "/notice", "/headers/idempotency-key", "/query/id/0"};
      boost::system::error_code error;
      for (const char* place : places) {
        if (const auto* found = entry.find_pointer(place, error)) {
          out.emplace_back(found->get_string());
          break;
        }
      }
    }
    return out;
  }
};

struct Kind {
  const char* name;
  /// Behaviours have the same names everywhere: accept, refuse, later, hang, hang_up, slow.
  std::function<void(Stage&, const std::string& behaviour)> set_up;
};

void set_up_email(Stage& stage, const std::string& behaviour) {
  stage.counterpart = mail_server(stage.bench, behaviour);
  stage.notifier = stage.bench.make(email_to(stage.counterpart->port()));
  stage.log = "mail.log";
}

void set_up_webhook(Stage& stage, const std::string& behaviour) {
  stage.counterpart = http_receiver(stage.bench);
  const auto port = stage.counterpart->port();
  stage.notifier = stage.bench.make(webhook_to(port, "/" + behaviour));
  stage.log = "http.log";
}

void set_up_sms_gateway(Stage& stage, const std::string& behaviour) {
  stage.counterpart = http_receiver(stage.bench);
  const auto port = stage.counterpart->port();
  stage.notifier = stage.bench.make(sms_gateway_to(port, "/" + behaviour));
  stage.log = "http.log";
}

void set_up_program(Stage& stage, const std::string& behaviour) {
  auto settings = program_to(stage.bench, {behaviour});
  settings.program.time_limit = Span::of_s(2);
  stage.notifier = stage.bench.make(settings);
  stage.log = "program.log";
}

void set_up_modem(Stage& stage, const std::string& behaviour) {
  stage.counterpart = modem(stage.bench, behaviour);
  auto settings = modem_at(stage.bench);
  settings.modem.time_limit = behaviour == "hang" ? Span::of_s(4) : Span::of_s(10);
  stage.notifier = stage.bench.make(settings);
  stage.log = "modem.log";
  stage.only_text_arrives = true;
  stage.bench.turn_until([&] { return stage.notifier->state().word == WayState::Word::working; });
}

const Kind kinds[] = {{"email", set_up_email},
                      {"webhook", set_up_webhook},
                      {"sms_gateway", set_up_sms_gateway},
                      {"gsm_modem", set_up_modem},
                      {"program", set_up_program}};

// Generous, because test machines are busy; what blocks in a library blocks for a second or more.
constexpr Span stall_max = Span::of_ms(800);

// Runs `check` against each kind of notifier with its counterpart behaving as asked.
void for_every_kind(const std::string& behaviour, const std::function<void(Stage&)>& check) {
  for (const Kind& kind : kinds) {
    CAPTURE(kind.name);
    Stage stage;
    kind.set_up(stage, behaviour);
    check(stage);
  }
}

}  // namespace

TEST_CASE("every notifier: delivers, and the receiver learns the notice's identifier") {
  for_every_kind("accept", [](Stage& stage) {
    const Message message = loss_message();
    const Outcome outcome = stage.deliver({message}).outcomes[0];
    CHECK(std::string(shown(outcome.kind)) == "delivered");
    CHECK(stage.received() == std::vector<std::string>{message.notice});
  });
}

TEST_CASE("every notifier: a refusal for good is told from one for now") {
  for_every_kind("refuse", [](Stage& stage) {
    const Outcome outcome = stage.deliver({loss_message()}).outcomes[0];
    CHECK(std::string(shown(outcome.kind)) == "rejected_forever");
    CHECK_FALSE(outcome.answer.empty());
  });
  for_every_kind("later", [](Stage& stage) {
    const Outcome outcome = stage.deliver({loss_message()}).outcomes[0];
    CHECK(std::string(shown(outcome.kind)) == "retry_later");
    CHECK_FALSE(outcome.answer.empty());
  });
}

TEST_CASE("every notifier: one that hangs ends at its time limit and holds nobody up") {
  for_every_kind("hang", [](Stage& stage) {
    const auto attempts = stage.deliver({loss_message()});
    const auto kind = attempts.outcomes.front().kind;
    const bool open = kind == Outcome::Kind::retry_later || kind == Outcome::Kind::unknown;
    CHECK_MESSAGE(open, shown(kind));
    CHECK(attempts.took.seconds() > 1.5);
    CHECK(attempts.took.seconds() < 9);
    CHECK(attempts.longest_stall < stall_max);
  });
}

TEST_CASE("every notifier: one that hangs up midway is tried again") {
  for_every_kind("hang_up", [](Stage& stage) {
    const auto attempts = stage.deliver({loss_message()});
    const auto kind = attempts.outcomes.front().kind;
    const bool open = kind == Outcome::Kind::retry_later || kind == Outcome::Kind::unknown;
    CHECK_MESSAGE(open, shown(kind));
    CHECK(attempts.longest_stall < stall_max);
  });
}

TEST_CASE("every notifier: slow is not broken") {
  for_every_kind("slow", [](Stage& stage) {
    const auto attempts = stage.deliver({loss_message()});
    CHECK(std::string(shown(attempts.outcomes.front().kind)) == "delivered");
    CHECK(attempts.took.seconds() > 0.4);
    CHECK(attempts.longest_stall < stall_max);
  });
}

TEST_CASE("every notifier: what is sent twice carries the same identifier") {
  for_every_kind("accept", [](Stage& stage) {
    Message message = loss_message();
    CHECK(stage.deliver({message}).outcomes[0].kind == Outcome::Kind::delivered);
    message.attempt = 2;
    CHECK(stage.deliver({message}).outcomes[0].kind == Outcome::Kind::delivered);
    CHECK(stage.received() == std::vector<std::string>{message.notice, message.notice});
  });
}

TEST_CASE("every notifier: several at once do not wait for each other") {
  for_every_kind("slow", [](Stage& stage) {
    const std::vector<std::string> ids{"notice-1", "notice-2", "notice-3", "notice-4"};
    std::vector<Message> messages;
    for (const auto& id : ids) messages.push_back(loss_message(id));
    const auto attempts = stage.deliver(messages);
    for (const auto& outcome : attempts.outcomes) {
      CHECK(std::string(shown(outcome.kind)) == "delivered");
    }
    const auto received = stage.received();
    CHECK(std::set<std::string>(received.begin(), received.end()) ==
          std::set<std::string>(ids.begin(), ids.end()));
  });
}

TEST_CASE("every notifier: a delivery that is cancelled ends at once") {
  for_every_kind("hang", [](Stage& stage) {
    CHECK(stage.bench.cancelled(*stage.notifier, loss_message(), Span::of_ms(300)));
    // And the next one is not disturbed by what was left behind.
    const auto attempts = stage.deliver({loss_message()});
    CHECK(attempts.longest_stall < stall_max);
  });
}

TEST_CASE("every notifier: nobody listening is a refusal for now") {
  Bench bench(Span::of_s(5));
  const auto port = free_port();
  for (const auto& settings :
       {email_to(port), webhook_to(port, "/accept"), sms_gateway_to(port, "/accept")}) {
    CAPTURE(settings.id);
    const auto notifier = bench.make(settings);
    const Outcome outcome = bench.deliver(*notifier, loss_message());
    CHECK(std::string(shown(outcome.kind)) == "retry_later");
    CHECK(outcome.answer.find("127.0.0.1") != std::string::npos);
    const auto checked = bench.check(*notifier);
    REQUIRE(checked);
    CHECK(std::string(shown(checked->kind)) == "retry_later");
  }
}

TEST_CASE("every notifier: a check finds nothing wrong, and the receiver gets no notice by it") {
  for_every_kind("accept", [](Stage& stage) {
    const auto found = stage.bench.check(*stage.notifier);
    REQUIRE(found);
    CHECK(std::string(shown(found->kind)) == "delivered");
    CHECK(stage.received().empty());
  });
}
