#include "ingest/check_in.h"

#include <doctest/doctest.h>

#include <sstream>

#include "core/limits.h"
#include "text/rfc3339.h"

using namespace ebbwatch;

namespace {

/// A parsed check-in as one line, so that a failure reads like a diff.
std::string shown(const Result<ParsedCheckIn>& parsed) {
  if (!parsed) return "refused: " + parsed.error().text;
  const auto& got = parsed.value();
  std::ostringstream out;
  if (got.controller) out << "controller=" << *got.controller << ' ';
  if (got.seq) out << "seq=" << *got.seq << ' ';
  if (got.uptime_s) out << "uptime_s=" << *got.uptime_s << ' ';
  if (got.sent_at) out << "sent_at=" << to_rfc3339(*got.sent_at) << ' ';
  if (got.battery_pct) out << "battery_pct=" << *got.battery_pct << ' ';
  if (got.next_in) out << "next_in=" << got.next_in->us << "us ";
  if (got.leaving) out << "leaving=" << got.leaving->us << "us ";
  if (got.power == Power::mains) out << "mains ";
  if (got.power == Power::battery) out << "battery ";
  if (got.buffered) out << "buffered ";
  return out.str() + to_row(got, "c", {}).readings_json;
}

std::string json(std::string_view body) {
  return shown(parse_check_in_json(body));
}
std::string form(std::string_view body) {
  return shown(parse_check_in_form(body));
}

}  // namespace

TEST_CASE("check-in: JSON with every field") {
  CHECK(json(R"({"controller":"lagoon-main","seq":7,"uptime_s":12.5,
                 "sent_at":"2026-02-22T20:22:22+01:00","power":"battery","battery_pct":81,
                 "next_in_s":60,"leaving":0.5,"buffered":true,
                 "readings":{"temperature_c":-1.5,"watts":{"return-pump":35,"light":0},
                             "leak":false,"mode":"night"}})") ==
        "controller=lagoon-main seq=7 uptime_s=12.5 sent_at=2026-02-22T19:22:22.000Z "
        "battery_pct=81 next_in=60000000us leaving=500000us battery buffered "
        R"({"battery_pct":8.1E1,"temperature_c":-1.5E0,"watts":{"return-pump":3.5E1,"light":0E0},)"
        R"("leak":false,"mode":"night"})");
}

TEST_CASE("check-in: a form and an address give the same as JSON") {
  CHECK(form("controller=lagoon-main&seq=7&uptime_s=12.5&sent_at=2026-02-22T20%3A22%3A22%2B01:00"
             "&power=battery&next_in_s=60&leaving=0.5&buffered=1&temperature_c=-1.5"
             "&watts.return-pump=35&readings.watts.light=0&readings.leak=yes") ==
        "controller=lagoon-main seq=7 uptime_s=12.5 sent_at=2026-02-22T19:22:22.000Z "
        "next_in=60000000us leaving=500000us battery buffered "
        R"({"temperature_c":-1.5E0,"watts":{"return-pump":3.5E1,"light":0E0},"leak":"yes"})");
  CHECK(form("readings=%7B%22ph%22%3A8.1%7D") == R"({"ph":8.1E0})");
}

TEST_CASE("check-in: nothing is required, and unknown fields do not hurt") {
  CHECK(json("{}") == "");
  CHECK(json(" {\"firmware\":\"2.1\", \"nested\":{\"a\":[1,2]}} ") == "");
  CHECK(form("") == "");
  CHECK(form("&&firmware=2.1&") == "");
  CHECK(form("seq=1&cache=%20") == "seq=1 ");
}

TEST_CASE("check-in: the limits themselves are good") {
  CHECK(json(R"({"seq":9007199254740991})") == "seq=9007199254740991 ");
  CHECK(json(R"({"seq":0,"uptime_s":0,"battery_pct":0})") ==
        "seq=0 uptime_s=0 battery_pct=0 {\"battery_pct\":0E0}");
  CHECK(json(R"({"seq":5.0})") == "seq=5 ");
  CHECK(json(R"({"next_in_s":2678400})") == "next_in=2678400000000us ");
  CHECK(json(R"({"next_in_s":1e-9})") == "next_in=1us ");
  CHECK(json(R"({"sent_at":1771788142000})") == "sent_at=2026-02-22T19:22:22.000Z ");
  CHECK(form("sent_at=1771788142000") == "sent_at=2026-02-22T19:22:22.000Z ");
}

TEST_CASE(
    "check-in: every wrong value is refused by name with what was found and what is allowed") {
  struct Case {
    const char *body, *field, *found;
  };
  const std::vector<Case> cases = {
      {R"({"seq":-1})", "seq", "-1"},
      {R"({"seq":1.5})", "seq", "1.5E0"},
      {R"({"seq":9007199254740992})", "seq", "9007199254740992"},
      {R"({"seq":18446744073709551615})", "seq", "18446744073709551615"},
      {R"({"seq":1e300})", "seq", "1E300"},
      {R"({"seq":"7"})", "seq", "\"7\""},
      {R"({"seq":null})", "seq", "null"},
      {R"({"seq":true})", "seq", "true"},
      {R"({"seq":[1]})", "seq", "an array"},
      {R"({"uptime_s":-0.001})", "uptime_s", "-1E-3"},
      {R"({"uptime_s":4000000001})", "uptime_s", "4000000001"},
      {R"({"uptime_s":{}})", "uptime_s", "an object"},
      {R"({"battery_pct":100.5})", "battery_pct", "1.005E2"},
      {R"({"battery_pct":-1})", "battery_pct", "-1"},
      {R"({"next_in_s":0})", "next_in_s", "0"},
      {R"({"next_in_s":-60})", "next_in_s", "-60"},
      {R"({"next_in_s":2678401})", "next_in_s", "2678401"},
      {R"({"leaving":0})", "leaving", "0"},
      {R"({"leaving":true})", "leaving", "true"},
      {R"({"power":"solar"})", "power", "\"solar\""},
      {R"({"power":1})", "power", "1"},
      {R"({"buffered":"true"})", "buffered", "\"true\""},
      {R"({"buffered":1})", "buffered", "1"},
      {R"({"sent_at":"yesterday"})", "sent_at", "\"yesterday\""},
      {R"({"sent_at":"2026-02-30T00:00:00Z"})", "sent_at", "\"2026-02-30T00:00:00Z\""},
      {R"({"sent_at":-5})", "sent_at", "-5"},
      {R"({"sent_at":1e30})", "sent_at", "1E30"},
      {R"({"controller":"Lagoon Main"})", "controller", "\"Lagoon Main\""},
      {R"({"controller":""})", "controller", "\"\""},
      {R"({"controller":7})", "controller", "7"},
      {R"({"readings":[]})", "readings", "an array"},
      {R"({"readings":5})", "readings", "5"},
      {R"({"readings":{"ph":"8.1"}})", "readings.ph", "\"8.1\""},
      {R"({"readings":{"ph":null}})", "readings.ph", "null"},
      {R"({"readings":{"ph":1e10}})", "readings.ph", "1E10"},
      {R"({"readings":{"leak":null}})", "readings.leak", "null"},
      {R"({"readings":{"leak":{"a":{"b":1}}}})", "readings.leak.a", "an object"},
      {R"({"readings":{"watts":5}})", "readings.watts", "5"},
      {R"({"readings":{"watts":{"pump":"5"}}})", "readings.watts.pump", "\"5\""}};
  for (const auto& at : cases) {
    CAPTURE(at.body);
    const auto parsed = parse_check_in_json(at.body);
    REQUIRE_FALSE(parsed.ok());
    CHECK(parsed.error().code == Errc::bad_input);
    const std::string& text = parsed.error().text;
    CAPTURE(text);
    CHECK(text.starts_with(std::string(at.field) + ": found " + at.found + "; allowed is "));
    CHECK(text.ends_with("."));
    CHECK((text.find(". Send ") != std::string::npos ||
           text.find(". Count ") != std::string::npos ||
           text.find(". Name ") != std::string::npos));
  }
}

TEST_CASE("check-in: what is not strict JSON is refused") {
  std::string deep;
  for (int i = 0; i < 40; ++i) deep += "{\"a\":";
  const std::vector<std::string> bad = {"{",
                                        "}",
                                        "{\"seq\":1",
                                        "{\"seq\":1}x",
                                        "{\"seq\":1}{}",
                                        "{'seq':1}",
                                        "{seq:1}",
                                        "{\"seq\":1,}",
                                        "{\"seq\":01}",
                                        "{\"seq\":+1}",
                                        "{\"seq\":.5}",
                                        "{\"seq\":1.}",
                                        "{\"seq\":0x1}",
                                        "{\"seq\":NaN}",
                                        "{\"seq\":Infinity}",
                                        "{\"seq\":-Infinity}",
                                        "{\"seq\":1 /* one */}",
                                        "\xef\xbb\xbf{}",
                                        "{\"a\":\"\x01\"}",
                                        "{\"a\":\"\n\"}",
                                        "{\"a\":\"\xff\"}",
                                        "{\"a\":\"\xed\xa0\x80\"}",
                                        R"({"a":"\ud834"})",
                                        R"({"a":"\udd1e"})",
                                        R"({"a":"\x"})",
                                        "{\"a\":\"",
                                        "{\"a\"}",
                                        "{\"a\":}",
                                        "{,}",
                                        " ",
                                        "tru",
                                        "nul",
                                        deep,
                                        std::string("{\"a\":1\0}", 8)};
  for (const auto& body : bad) {
    CAPTURE(body);
    const auto parsed = parse_check_in_json(body);
    REQUIRE_FALSE(parsed.ok());
    CHECK(parsed.error().code == Errc::bad_input);
    CHECK_FALSE(parsed.error().text.empty());
  }
  for (const char* body : {"[]", "1", "\"x\"", "null", "true"}) {
    CAPTURE(body);
    CHECK(json(body).find("allowed is an object") != std::string::npos);
  }
}

TEST_CASE("check-in: every prefix of a good body is refused and none crashes") {
  const std::string good =
      R"({"seq":7,"sent_at":"2026-02-22T19:22:22Z","readings":{"watts":{"p":1.5e1},"x":"\u00e9"}})";
  REQUIRE(parse_check_in_json(good).ok());
  for (std::size_t size = 0; size < good.size(); ++size) {
    CHECK_FALSE(parse_check_in_json(good.substr(0, size)).ok());
  }
}

TEST_CASE("check-in: a member name twice in one object is refused at every level") {
  for (const char* body :
       {R"({"seq":1,"seq":2})", R"({"seq":1,"\u0073eq":1})", R"({"x":{"a":1,"a":1}})",
        R"({"readings":{"ph":8,"ph":8}})", R"({"x":[{"a":1},{"b":1,"b":2}]})"}) {
    CAPTURE(body);
    CHECK(json(body).find(" twice in one object") != std::string::npos);
  }
  CHECK(json(R"({"x":{"a":1},"y":{"a":1},"a":1})") == "");
  CHECK(json(R"({"ph":8,"readings":{"ph":8}})").find("given twice") != std::string::npos);
}

TEST_CASE("check-in: forms with bad encoding, repeats or wrong types are refused") {
  const std::vector<std::pair<const char*, const char*>> bad = {
      {"seq=%", "a % without two"},
      {"seq=%1", "a % without two"},
      {"seq=%zz", "a % without two"},
      {"readings.x=%ff", "not UTF-8"},
      {"seq=1&seq=1", "seq: given twice"},
      {"ph=8&readings.ph=8", "readings.ph: given twice"},
      {"watts.p=1&watts.p=2", "readings.watts.p: given twice"},
      {"readings.x=1&readings.x=2", "readings.x: given twice"},
      {"seq=", "seq: found \"\""},
      {"seq=+1", "seq: found \" 1\""},
      {"seq=1e400", "seq: found"},
      {"uptime_s=nan", "uptime_s: found \"nan\""},
      {"uptime_s=inf", "uptime_s: found"},
      {"uptime_s=0x10", "uptime_s: found \"0x10\""},
      {"power=", "power: found \"\""},
      {"buffered=yes", "buffered: found \"yes\""},
      {"ph=acid", "readings.ph: found \"acid\""},
      {"watts=5", "readings.watts: found \"5\""},
      {"readings.=5", "readings: found the name \"\""},
      {"readings=5", "readings: found 5"},
      {"readings=%7B", "readings: The body is not valid JSON"},
      {"sent_at=2026-02-22T19:22:22+01:00", "written as %2B"}};
  for (const auto& [body, wanted] : bad) {
    CAPTURE(body);
    const auto text = form(body);
    CAPTURE(text);
    CHECK(text.find(wanted) != std::string::npos);
  }
}

TEST_CASE("check-in: 64 readings are good, 65 are not") {
  std::string body = "{\"readings\":{";
  for (std::size_t i = 0; i < limits::readings_max; ++i) {
    body += (i > 0 ? ",\"r" : "\"r") + std::to_string(i) + "\":1";
  }
  CHECK(parse_check_in_json(body + "}}").value().readings.size() == 64);
  CHECK(json(body + ",\"one-more\":1}}").find("more than 64") != std::string::npos);
}

TEST_CASE("check-in: outside text in errors is one short line of valid UTF-8") {
  const auto text =
      json("{\"power\":\"\\u0007" + std::string(39, 'a') + "\u00e9\u00e9 and more\"}");
  CHECK(text.find("found \"?" + std::string(39, 'a') + "…\"") != std::string::npos);
}

TEST_CASE(
    "check-in: the reader is chosen by content type, and braces are JSON whatever they are "
    "called") {
  CHECK(shown(parse_check_in("application/json; charset=utf-8", "{\"seq\":1}")) == "seq=1 ");
  CHECK(shown(parse_check_in("Application/X-WWW-Form-Urlencoded", "seq=1")) == "seq=1 ");
  CHECK(shown(parse_check_in("application/x-www-form-urlencoded", " {\"seq\":1}")) == "seq=1 ");
  CHECK(shown(parse_check_in("", "{\"seq\":1}")) == "seq=1 ");
  CHECK(shown(parse_check_in("image/png", "")) == "");
  CHECK(shown(parse_check_in("text/plain", "seq=1")).find("Content-Type: found \"text/plain\"") !=
        std::string::npos);
}

TEST_CASE("check-in: becomes the core's event and the history's row") {
  const auto parsed = parse_check_in_json(
      R"({"seq":3,"uptime_s":9,"power":"mains","next_in_s":30,"leaving":60,"buffered":true,"ph":8})");
  REQUIRE(parsed.ok());
  const CheckIn event = to_event(parsed.value(), ControllerIndex{4});
  CHECK(event.controller.value == 4);
  CHECK(event.seq == 3);
  CHECK(event.uptime_s == 9);
  CHECK(event.power == Power::mains);
  CHECK(event.next_in == Span::of_s(30));
  CHECK(event.leaving == Span::of_s(60));
  CHECK(event.buffered);
  const CheckInRow row = to_row(parsed.value(), "lagoon-main", WallTime{5});
  CHECK(row.at.us == 5);
  CHECK(row.controller == "lagoon-main");
  CHECK(row.seq == 3);
  CHECK(row.power == "mains");
  CHECK(row.buffered);
  CHECK(row.readings_json == R"({"ph":8E0})");
  CHECK(to_row({}, "x", {}).readings_json.empty());
}
