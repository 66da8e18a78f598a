#include "text/form.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("form: percent and plus are decoded, a broken percent is refused") {
  CHECK(form_decode("a+b%20c%2B").value() == "a b c+");
  CHECK(form_decode("%C3%A4").value() == "\xC3\xA4");
  for (const char* broken : {"%", "%4", "%4g", "a%"}) CHECK_FALSE(form_decode(broken));
}

TEST_CASE("form: pairs keep their order, empty ones are skipped, a name may lack a value") {
  const auto fields = parse_form("a=1&&b&a=2&c=x%3Dy");
  REQUIRE(fields);
  CHECK(fields->size() == 4);
  CHECK(form_value(*fields, "a") == "1");
  CHECK(form_value(*fields, "b").empty());
  CHECK(form_value(*fields, "c") == "x=y");
  CHECK(form_value(*fields, "d").empty());
  CHECK(parse_form("")->empty());
  CHECK_FALSE(parse_form("a=%zz"));
}
