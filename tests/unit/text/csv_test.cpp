// RFC 4180 section 2, rules 5 to 7; which beginnings spreadsheets run: OWASP, "CSV Injection" (from
// memory).
#include "text/csv.h"

#include <doctest/doctest.h>

namespace ebbwatch {
namespace {

TEST_CASE("csv: fields with commas, quotes and line ends stand in quotes") {
  CHECK(csv_text("lagoon") == "lagoon");
  CHECK(csv_text("") == "");
  CHECK(csv_text("a b; c") == "a b; c");
  CHECK(csv_text("aaa,bbb") == "\"aaa,bbb\"");
  CHECK(csv_text("b\r\nbb") == "\"b\r\nbb\"");
  CHECK(csv_text("b\"bb") == "\"b\"\"bb\"");
  CHECK(csv_row({"at", csv_text("a,b"), ""}) == "at,\"a,b\",\r\n");
  CHECK(csv_row({}) == "\r\n");
}

TEST_CASE("csv: what a spreadsheet would run is told to be text") {
  CHECK(csv_text("=1+2") == "'=1+2");
  CHECK(csv_text("+1 555 0100") == "'+1 555 0100");
  CHECK(csv_text("-2") == "'-2");
  CHECK(csv_text("@SUM(A1)") == "'@SUM(A1)");
  CHECK(csv_text("\t=1") == "'\t=1");
  CHECK(csv_text("\r=1") == "\"'\r=1\"");
  CHECK(csv_text("=HYPERLINK(\"http://example.net\",\"a\")") ==
        "\"'=HYPERLINK(\"\"http://example.net\"\",\"\"a\"\")\"");
  CHECK(csv_text("a=1") == "a=1");
}

}  // namespace
}  // namespace ebbwatch
