#include "ingest/check_in_handler.h"

#include <doctest/doctest.h>

#include <boost/json/parse.hpp>

#include "fakes.h"
#include "ingest/problem.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

struct Fixture {
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission{entropy};
  RememberingSink sink;
  CheckInHandler handler{admission, sink, clock};
  Fixture() { admission.replace_keys(two_keys()); }

  static std::string field(const HttpResponse& answer, const std::string& name) {
    for (const auto& [held, value] : answer.fields) {
      if (held == name) return value;
    }
    return "";
  }
  HttpRequest capability(const std::string& method, const std::string& query) {
    auto request = post();
    request.method = method;
    request.path = "/v1/c/" + key_of(1).text;
    request.target = request.path + "?" + query;
    request.query = query;
    return request;
  }
};

}  // namespace

TEST_CASE_FIXTURE(Fixture, "handler: a good check-in is 204 and reaches the sink") {
  const auto answer = handler.answer(post("{\"seq\":5}", key_of(1).text));
  CHECK(answer.status == 204);
  CHECK(answer.body.empty());
  REQUIRE(sink.taken.size() == 1);
  CHECK(sink.taken[0].credential.controller == "lagoon-main");
  CHECK(sink.taken[0].parsed.seq == 5);
  CHECK(sink.taken[0].address == "192.0.2.7");
  CHECK(sink.log.empty());
}

TEST_CASE_FIXTURE(Fixture,
                  "handler: a capability works with GET and POST, fields in address or body") {
  CHECK(handler.answer(capability("GET", "seq=1&power=mains")).status == 204);
  CHECK(handler.answer(capability("POST", "seq=2")).status == 204);
  auto in_body = capability("POST", "");
  in_body.body = "{\"seq\":3}";
  CHECK(handler.answer(in_body).status == 204);
  CHECK(handler.answer(capability("GET", "")).status == 204);
  REQUIRE(sink.taken.size() == 4);
  CHECK(sink.taken[0].parsed.seq == 1);
  CHECK(sink.taken[1].parsed.seq == 2);
  CHECK(sink.taken[2].parsed.seq == 3);
  CHECK(sink.taken[0].credential.kind == Credential::Kind::capability);
}

TEST_CASE_FIXTURE(Fixture, "handler: the key of an address appears in no answer and in no log") {
  const std::string key = key_of(1).text;
  std::string everything;
  for (const char* query : {"seq=-1", "controller=kelp-main", "seq=1&seq=2", "%", "seq=1"}) {
    const auto answer = handler.answer(capability("GET", query));
    CHECK(field(answer, "Cache-Control") == "no-store");
    CHECK(field(answer, "Referrer-Policy") == "no-referrer");
    everything += answer.body;
    for (const auto& [name, value] : answer.fields) everything += value;
  }
  everything += handler.answer(capability("DELETE", "")).body;
  auto wrong = capability("GET", "seq=1");
  wrong.path += "x";
  everything += handler.answer(wrong).body;
  for (int i = 0; i < 40; ++i) everything += handler.answer(capability("GET", "")).body;
  everything += sink.log;
  CHECK(everything.size() > 500);
  CHECK(everything.find(key.substr(0, 12)) == std::string::npos);
  CHECK(everything.find(key.substr(20, 12)) == std::string::npos);
}

TEST_CASE_FIXTURE(Fixture, "handler: the right key for another controller is 403") {
  const auto answer = handler.answer(post("{\"controller\":\"kelp-main\"}", key_of(1).text));
  CHECK(answer.status == 403);
  CHECK(answer.body.find("kelp-main") != std::string::npos);
  CHECK(sink.taken.empty());
  CHECK(handler.answer(post("{\"controller\":\"lagoon-main\"}", key_of(1).text)).status == 204);
}

TEST_CASE_FIXTURE(Fixture, "handler: what the sink cannot take is 403 or 503 with Retry-After") {
  sink.answer = CheckInAnswer::unknown_controller;
  CHECK(handler.answer(post("", key_of(1).text)).status == 403);
  sink.answer = CheckInAnswer::unavailable;
  const auto answer = handler.answer(post("", key_of(1).text));
  CHECK(answer.status == 503);
  CHECK(field(answer, "Retry-After") == "10");
}

TEST_CASE_FIXTURE(Fixture, "handler: a problem document has type, title, status and detail") {
  const auto answer = handler.answer(post("{\"seq\":-1}", key_of(1).text));
  CHECK(answer.status == 400);
  CHECK(answer.content_type == "application/problem+json");
  const auto body = boost::json::parse(answer.body).as_object();
  CHECK(body.at("type") == "about:blank");
  CHECK(body.at("title") == "Bad Request");
  CHECK(body.at("status") == 400);
  CHECK(std::string_view(body.at("detail").as_string()).starts_with("seq: found -1; allowed is"));
  CHECK(sink.log.starts_with("400 lagoon-main 192.0.2.7 seq: found -1"));
}

TEST_CASE_FIXTURE(Fixture, "handler: too fast is 429 with whole seconds to wait") {
  for (int i = 0; i < 20; ++i) REQUIRE(handler.answer(post("", key_of(1).text)).status == 204);
  const auto answer = handler.answer(post("", key_of(1).text));
  CHECK(answer.status == 429);
  CHECK(field(answer, "Retry-After") == "1");
}

TEST_CASE_FIXTURE(Fixture, "handler: other paths are 404, other methods 405 with Allow") {
  auto request = post("", key_of(1).text);
  for (const char* path : {"/", "/v1", "/v1/check-in/", "/v1/c/", "/v1/c", "/V1/check-in"}) {
    request.path = path;
    CAPTURE(path);
    CHECK(handler.answer(request).status == 404);
  }
  request.path = "/v1/check-in";
  request.method = "GET";
  auto answer = handler.answer(request);
  CHECK(answer.status == 405);
  CHECK(field(answer, "Allow") == "POST");
  answer = handler.answer(capability("PUT", ""));
  CHECK(answer.status == 405);
  CHECK(field(answer, "Allow") == "GET, POST");
}

TEST_CASE_FIXTURE(Fixture, "handler: 401 carries its challenge") {
  const auto answer = handler.answer(post());
  CHECK(answer.status == 401);
  CHECK(field(answer, "WWW-Authenticate") == "Bearer realm=\"check-in\"");
  CHECK(sink.log.starts_with("401  192.0.2.7 No credential came."));
}

TEST_CASE("http_date: the example of RFC 9110 section 5.6.7") {
  CHECK(http_date(WallTime{784111777LL * 1'000'000}) == "Sun, 06 Nov 1994 08:49:37 GMT");
  CHECK(http_date(WallTime{946684799LL * 1'000'000}) == "Fri, 31 Dec 1999 23:59:59 GMT");
}

TEST_CASE("component_value: the derived components of RFC 9421 section 2.2") {
  auto request = post();
  request.target = "/v1/check-in?a=1";
  request.query = "a=1";
  request.fields = {{"host", "WATCH.example.net:443"}, {"x", "1"}, {"x", "2"}};
  CHECK(component_value(request, "@method") == "POST");
  CHECK(component_value(request, "@authority") == "watch.example.net");
  CHECK(component_value(request, "@path") == "/v1/check-in");
  CHECK(component_value(request, "@query") == "?a=1");
  CHECK(component_value(request, "@request-target") == "/v1/check-in?a=1");
  CHECK(component_value(request, "x") == "1, 2");
  CHECK_FALSE(component_value(request, "@scheme").has_value());
  CHECK_FALSE(component_value(request, "y").has_value());
}
