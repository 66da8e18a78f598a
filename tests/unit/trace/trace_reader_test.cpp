#include "trace/trace_reader.h"

#include "unit/trace/files.h"

using namespace ebbwatch;
using test::Files;
using test::trace_header;

namespace {

// Reads to the end. @return the error without the folder, or an empty text.
std::string fault_of(const Files& files, const std::string& rows) {
  auto reader = TraceReader::open(files.plain(trace_header + rows));
  REQUIRE(reader.ok());
  TraceRow row;
  while (true) {
    const auto got = reader.value().next(row);
    if (!got) return files.without_path(got.error().text);
    if (!got.value()) return "";
  }
}

}  // namespace

TEST_CASE("trace reader: every kind of row with every column") {
  const Files files;
  auto reader = TraceReader::open(
      files.gzip(trace_header + "0.00,harbour,start,,,,,\n"
                                "1.26,harbour,check-in,stream-main,,2191,262919.5,mains\n"
                                "1.26,harbour,buffered,stream-main,,2190,,battery\n"
                                "2.5e1,breakwater,check-in,lagoon-main,,,,\n"
                                "30.000001,harbour,uplink,resolver,1,,,\n"
                                "60,harbour,uplink,resolver,0,,,\n"
                                "61,harbour,stop,,,,,\n"));
  REQUIRE(reader.ok());
  TraceRow row;
  const auto next = [&] { return reader.value().next(row).value(); };
  REQUIRE(next());
  CHECK(row.kind == TraceKind::start);
  CHECK(row.at == Instant{0});
  REQUIRE(next());
  CHECK(row.kind == TraceKind::check_in);
  CHECK(row.at == Instant{1'260'000});
  CHECK(row.watcher == "harbour");
  CHECK(row.subject == "stream-main");
  CHECK(row.seq == 2191);
  CHECK(row.uptime_s == 262919.5);
  CHECK(row.power == Power::mains);
  REQUIRE(next());
  CHECK(row.kind == TraceKind::buffered);
  CHECK_FALSE(row.uptime_s.has_value());
  CHECK(row.power == Power::battery);
  REQUIRE(next());
  CHECK(row.watcher == "breakwater");
  CHECK(row.at == Instant{25'000'000});
  CHECK_FALSE(row.seq.has_value());
  CHECK(row.power == Power::unknown);
  REQUIRE(next());
  CHECK(row.kind == TraceKind::uplink);
  CHECK(row.at == Instant{30'000'001});
  CHECK(row.answered);
  REQUIRE(next());
  CHECK_FALSE(row.answered);
  REQUIRE(next());
  CHECK(row.kind == TraceKind::stop);
  CHECK_FALSE(next());
}

TEST_CASE("trace reader: what is wrong comes with its line and column") {
  const Files files;
  const std::string good = "5,harbour,check-in,a,,1,2,mains\n";
  CHECK(fault_of(files, good) == "");
  CHECK(fault_of(files, good + "x,harbour,check-in,a,,1,2,mains\n") ==
        "trace.csv:3: column time_s: \"x\" is not a number of seconds from 0");
  CHECK(fault_of(files, "-1,harbour,check-in,a,,1,2,mains\n") ==
        "trace.csv:2: column time_s: \"-1\" is not a number of seconds from 0");
  CHECK(fault_of(files, "nan,harbour,check-in,a,,1,2,mains\n").find("column time_s") !=
        std::string::npos);
  CHECK(fault_of(files, "1e300,harbour,check-in,a,,1,2,mains\n").find("column time_s") !=
        std::string::npos);
  CHECK(fault_of(files, "5,,check-in,a,,1,2,mains\n") == "trace.csv:2: column watcher: is empty");
  CHECK(fault_of(files, "5,harbour,checkin,a,,1,2,mains\n") ==
        "trace.csv:2: column kind: \"checkin\" is not check-in, buffered, uplink, start or stop");
  CHECK(fault_of(files, "5,harbour,check-in,,,1,2,mains\n") ==
        "trace.csv:2: column subject: is empty");
  CHECK(fault_of(files, "5,harbour,uplink,resolver,yes,,,\n") ==
        "trace.csv:2: column ok: \"yes\" is not 1 or 0");
  CHECK(fault_of(files, "5,harbour,check-in,a,,1.5,2,mains\n") ==
        "trace.csv:2: column seq: \"1.5\" is not a whole number from 0");
  CHECK(fault_of(files, "5,harbour,check-in,a,,1,-2,mains\n") ==
        "trace.csv:2: column uptime_s: \"-2\" is not a number of seconds from 0");
  CHECK(fault_of(files, "5,harbour,check-in,a,,1,2,solar\n") ==
        "trace.csv:2: column power: \"solar\" is not mains, battery or empty");
  CHECK(fault_of(files, "5,harbour,check-in,a,,1,2\n") == "trace.csv:2: 7 columns instead of 8");
  CHECK(fault_of(files, "5,harbour,check-in,a,,1,2,mains,\n") ==
        "trace.csv:2: 9 columns instead of 8");
  CHECK(fault_of(files, "\n") == "trace.csv:2: 1 columns instead of 8");
  CHECK(fault_of(files, good + "4.9,harbour,check-in,a,,1,2,mains\n") ==
        "trace.csv:3: column time_s: earlier than the row before it");
}

TEST_CASE("trace reader: the header must be exactly the one of the format") {
  const Files files;
  const auto wrong = TraceReader::open(files.plain("time,watcher\n"));
  REQUIRE_FALSE(wrong.ok());
  CHECK(files.without_path(wrong.error().text) ==
        "trace.csv:1: the header is \"time,watcher\", but must be "
        "\"time_s,watcher,kind,subject,ok,seq,uptime_s,power\"");
  CHECK(files.without_path(TraceReader::open(files.plain("")).error().text) ==
        "trace.csv: the file is empty; the first line must be "
        "\"time_s,watcher,kind,subject,ok,seq,uptime_s,power\"");
}

TEST_CASE("trace reader: the watchers of a trace come in order of appearance") {
  const Files files;
  const auto names = watchers_of_trace(files.plain(
      trace_header + "0,b,start,,,,,\n1,a,start,,,,,\n2,b,check-in,x,,,,\n3,c,start,,,,,\n"));
  REQUIRE(names.ok());
  CHECK(names.value() == std::vector<std::string>{"b", "a", "c"});
  CHECK(watchers_of_trace(files.plain(trace_header)).value().empty());
  CHECK_FALSE(watchers_of_trace(files.path() + "/none").ok());
}
