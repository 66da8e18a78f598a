#include "trace/truth.h"

#include <cmath>

#include "unit/trace/files.h"

using namespace ebbwatch;
using test::Files;

namespace {
std::string fault_of(const Files& files, const std::string& content) {
  const auto rows = read_truth(files.plain(content, "truth.csv"));
  return rows.ok() ? "" : files.without_path(rows.error().text);
}
const std::string head = "start_s,end_s,scope,subject,cause\n";
}  // namespace

TEST_CASE("truth: every scope and cause is understood") {
  const Files files;
  const auto read = read_truth(files.plain(head + "1.5,20,site,elm,mains_power\n"
                                                  "2,,controller,reef-main,controller\n"
                                                  "3,4,tank,reef,blip\n"
                                                  "5,6,watcher,harbour,watcher_uplink\n"
                                                  "7,8,controller,reef-main,watcher_uplink\n"
                                                  "9,10,controller,reef-main,unknown\n"
                                                  "11,12,area,north,undetermined\n"
                                                  "13,14,provider,fibre,internet\n"));
  REQUIRE(read.ok());
  const auto& rows = read.value();
  REQUIRE(rows.size() == 8);
  CHECK(rows[0].start_s == 1.5);
  CHECK(rows[0].scope == Scope::site);
  CHECK(rows[0].subject == "elm");
  CHECK(rows[0].kind == TruthRow::Kind::outage);
  CHECK(std::isinf(rows[1].end_s));
  CHECK(rows[2].kind == TruthRow::Kind::blip);
  CHECK(rows[3].kind == TruthRow::Kind::watcher);
  CHECK(rows[4].kind == TruthRow::Kind::watcher);
  CHECK(rows[5].kind == TruthRow::Kind::unknown);
  CHECK(rows[6].kind == TruthRow::Kind::outage);
  CHECK(rows[7].scope == Scope::provider);
}

TEST_CASE("truth: what is wrong comes with its line and column") {
  const Files files;
  CHECK(fault_of(files, "start,end\n") ==
        "truth.csv:1: the first line must be \"start_s,end_s,scope,subject,cause\"");
  CHECK(fault_of(files, head + "x,2,site,elm,blip\n") ==
        "truth.csv:2: column start_s: \"x\" is not a number");
  CHECK(fault_of(files, head + "1,y,site,elm,blip\n") ==
        "truth.csv:2: column end_s: \"y\" is not a number");
  CHECK(fault_of(files, head + "3,2,site,elm,blip\n") ==
        "truth.csv:2: column end_s: before start_s");
  CHECK(fault_of(files, head + "1,2,home,elm,blip\n") ==
        "truth.csv:2: column scope: \"home\" is not controller, tank, site, area, provider or "
        "watcher");
  CHECK(fault_of(files, head + "1,2,site,elm,ghosts\n") ==
        "truth.csv:2: column cause: \"ghosts\" is not a cause of decisions, blip or unknown");
  CHECK(fault_of(files, head + "1,2,site,elm\n") == "truth.csv:2: not 5 columns");
  CHECK(fault_of(files, head + "1,2,site,elm,blip,x\n") == "truth.csv:2: not 5 columns");
}
