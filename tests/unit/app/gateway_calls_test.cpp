// Calls of a text message gateway: who may call, and where what they bring goes.
#include <doctest/doctest.h>

#include <cstdlib>
#include <vector>

#include "app/gateway_calls.h"

using namespace ebbwatch;

namespace {

constexpr const char* secret = "door-of-the-gateway-1";

class FixedClock final : public Clock {
 public:
  Instant now() const override { return Instant{5'000'000'000}; }
  WallTime wall_now() const override { return WallTime{1'700'000'000'000'000}; }
};

class Texts final : public IncomingTexts {
 public:
  IncomingAnswer incoming_text(const std::string& notifier, const std::string& from,
                               const std::string& text) override {
    got.push_back(notifier + " " + from + ": " + text);
    return {IncomingAnswer::Kind::acknowledged, "You have it."};
  }
  std::vector<std::string> got;
};

struct Scene {
  Scene() {
    setenv("EBBWATCH_TEST_DOOR", secret, 1);
    NotifierSettings text;
    text.id = "text";
    text.kind = NotifierKind::sms_gateway;
    text.sms_gateway.calls.emplace();
    text.sms_gateway.calls->secret = {SecretSource::Kind::environment, "EBBWATCH_TEST_DOOR"};
    settings.notifiers = {text};
    REQUIRE(calls.use(settings));
  }
  HttpResponse send(const std::string& method, const std::string& rest,
                    const std::string& body = "", const std::string& key = secret) {
    HttpRequest request;
    request.method = method;
    set_target(request, "/v1/gateway/text/" + key + rest);
    request.body = body;
    request.remote_address = "192.0.2.7";
    return calls.answer(request);
  }

  Settings settings;
  FixedClock clock;
  Texts texts;
  std::vector<DeliveryReport> reports;
  bool take = true;
  GatewayCalls calls{texts, clock, [this](const DeliveryReport& report) {
                       reports.push_back(report);
                       return take;
                     }};
};

}  // namespace

TEST_CASE("gateway: a text goes on with its sender, and the answer to it comes back") {
  Scene scene;
  const auto answer = scene.send("GET", "/text?from=%2B15550100&text=OK+4271");
  CHECK(answer.status == 200);
  CHECK(answer.body == "You have it.");
  CHECK(scene.send("POST", "/text", R"({"from": "15550101", "text": "ja 4271"})").status == 200);
  CHECK(scene.send("GET", "/text?from=+15550102&text=ok").status == 200);
  CHECK(scene.texts.got == std::vector<std::string>{"text +15550100: OK 4271",
                                                    "text 15550101: ja 4271",
                                                    "text +15550102: ok"});
  CHECK(scene.send("GET", "/text?text=ok").status == 400);
  CHECK(scene.send("HEAD", "/text?from=1&text=ok").status == 405);
  CHECK(scene.texts.got.size() == 3);
}

TEST_CASE("gateway: final reports go on, others do not, early ones are asked for again") {
  Scene scene;
  CHECK(scene.send("GET", "/report/n-1?status=8").status == 204);
  CHECK(scene.reports.empty());
  CHECK(scene.send("GET", "/report/n-1?status=1").status == 204);
  CHECK(scene.send("POST", "/report/n-2", "status=UNDELIV").status == 204);
  REQUIRE(scene.reports.size() == 2);
  CHECK(scene.reports[0].arrived);
  CHECK(scene.reports[0].notice == "n-1");
  CHECK(scene.reports[1].notifier == "text");
  CHECK_FALSE(scene.reports[1].arrived);
  CHECK(scene.reports[1].status == "UNDELIV");
  CHECK(scene.send("GET", "/report/n-1").status == 400);
  scene.take = false;
  CHECK(scene.send("GET", "/report/n-1?status=2").status == 503);
}

TEST_CASE("gateway: nobody else gets in, and who tries often must wait") {
  Scene scene;
  CHECK(scene.send("GET", "/text?from=1&text=ok", "", "door-of-the-gateway-2").status == 404);
  CHECK(scene.send("GET", "/elsewhere").status == 404);
  HttpResponse last;
  for (int i = 0; i < 12; ++i) last = scene.send("GET", "/text", "", "wrong");
  CHECK(last.status == 429);
  CHECK(scene.texts.got.empty());
  CHECK(scene.send("GET", "/text?from=1&text=ok").status == 200);
}

TEST_CASE("gateway: a reload closes doors, and one that fails leaves them as they were") {
  Scene scene;
  setenv("EBBWATCH_TEST_DOOR", "short", 1);
  const auto refused = scene.calls.use(scene.settings);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().text.find("notifier text: calls.secret") == 0);
  CHECK(scene.send("GET", "/text?from=1&text=ok").status == 200);
  REQUIRE(scene.calls.use(Settings{}));
  CHECK(scene.send("GET", "/text?from=1&text=ok").status == 404);
}
