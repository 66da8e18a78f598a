// What stands in the calls of a text message gateway.
#include <doctest/doctest.h>

#include "notifiers/sms_gateway/gateway_door.h"
#include "notifiers/sms_gateway/request_template.h"

using namespace ebbwatch;

namespace {

using Fields = std::map<std::string, std::string>;

Fields fields(std::string_view type, std::string_view query, std::string_view body) {
  return door_fields(type, query, body).value();
}

}  // namespace

TEST_CASE("door: its address goes out in the template and is read back") {
  const std::string door = door_address("https://w.example.net/", "text", "sesame-sesame-1234");
  CHECK(door == "https://w.example.net/v1/gateway/text/sesame-sesame-1234");
  CHECK(report_address("", "n").empty());
  SmsGatewaySettings settings;
  settings.url = "http://127.0.0.1/send";
  settings.fields = {{"dlr-url", "{report_url}?status=%d"}};
  const auto request =
      fill_template(settings, {"", "", "", "0198-a", report_address(door, "0198-a")});
  CHECK(request.url ==
        "http://127.0.0.1/send?dlr-url=https%3A%2F%2Fw.example.net%2Fv1%2Fgateway%2Ftext%2F"
        "sesame-sesame-1234%2Freport%2F0198-a%3Fstatus%3D%25d");

  const auto report = read_door_path("/v1/gateway/text/sesame-sesame-1234/report/0198-a");
  REQUIRE(report.has_value());
  CHECK(report->kind == DoorCall::Kind::report);
  CHECK(report->notifier == "text");
  CHECK(report->secret == "sesame-sesame-1234");
  CHECK(report->notice == "0198-a");
  const auto text = read_door_path("/v1/gateway/text/sesame-sesame-1234/text");
  REQUIRE(text.has_value());
  CHECK(text->kind == DoorCall::Kind::text);
}

TEST_CASE("door: other paths are none") {
  for (const char* path :
       {"/v1/gateway/", "/v1/gateway/text", "/v1/gateway/text/s", "/v1/gateway/text/s/",
        "/v1/gateway/text/s/texts", "/v1/gateway/text/s/text/", "/v1/gateway/text/s/text/more",
        "/v1/gateway/text//text", "/v1/gateway/text/s/report", "/v1/gateway/text/s/report/",
        "/v1/gateway/text/s/report/a/b", "/v1/gateway/te%78t/s/text", "/v1/check-in",
        "/v1/gateway/text/s/report/"
        "0123456789012345678901234567890123456789012345678901234567890123456789"}) {
    CAPTURE(path);
    CHECK_FALSE(read_door_path(path).has_value());
  }
}

TEST_CASE("door: fields come by query, form or JSON, the body's before the query's") {
  CHECK(fields("", "from=%2B15550100&text=OK+4271", "") ==
        Fields{{"from", "+15550100"}, {"text", "OK 4271"}});
  CHECK(fields("application/x-www-form-urlencoded", "from=a", "from=b&&text=100%&x") ==
        Fields{{"from", "b"}, {"text", "100%"}});
  CHECK(fields("application/json", "",
               R"({"from": 15550100, "text": "OK", "parts": [1], "n": null})") ==
        Fields{{"from", "15550100"}, {"text", "OK"}});
  CHECK(fields("text/plain", "", R"( {"text": "OK"})") == Fields{{"text", "OK"}});
  CHECK_FALSE(door_fields("application/json", "", "[1]"));
  CHECK_FALSE(door_fields("application/json", "", "{\"a\": "));
  CHECK_FALSE(door_fields("application/json", "", std::string(100, '{')));
  std::string many;
  for (int i = 0; i < 1000; ++i) many += "f" + std::to_string(i) + "=1&";
  CHECK(fields("", many, "").size() <= 64);
}

TEST_CASE("door: words of reports, SMPP 3.4's and Kannel's by default") {
  GatewayCallSettings calls;
  for (const char* word : {"1", "DELIVRD", "Delivered"}) {
    CHECK(report_word(calls, word) == ReportWord::arrived);
  }
  for (const char* word : {"2", "16", "UNDELIV", "EXPIRED", "REJECTD", "failed"}) {
    CHECK(report_word(calls, word) == ReportWord::failed);
  }
  for (const char* word : {"8", "4", "ENROUTE", "ACCEPTD", "", "deliveredx"}) {
    CHECK(report_word(calls, word) == ReportWord::on_its_way);
  }
  calls.arrived = {"there"};
  CHECK(report_word(calls, "There") == ReportWord::arrived);
  CHECK(report_word(calls, "1") == ReportWord::on_its_way);
}

TEST_CASE("door: a secret that cannot stand in an address, or is short, is refused unseen") {
  GatewayCallSettings calls;
  calls.secret.kind = SecretSource::Kind::environment;
  calls.secret.name = "EBBWATCH_TEST_DOOR";
  for (const char* bad : {"short", "with/slash/in/the/middle", "a blank in it, see"}) {
    setenv("EBBWATCH_TEST_DOOR", bad, 1);
    const auto read = read_door_secret(calls, "f.yaml");
    REQUIRE_FALSE(read);
    CHECK(read.error().text.find(bad) == std::string::npos);
  }
  setenv("EBBWATCH_TEST_DOOR", "0123456789abcdef", 1);
  CHECK(read_door_secret(calls, "f.yaml").value() == "0123456789abcdef");
  unsetenv("EBBWATCH_TEST_DOOR");
}
