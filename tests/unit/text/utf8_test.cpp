#include "text/utf8.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("utf8: characters of one to four bytes are read") {
  CHECK(code_point_at("A", 0).value == U'A');
  CHECK(code_point_at("ä", 0).value == U'ä');
  CHECK(code_point_at("€", 0).value == U'€');
  CHECK(code_point_at("x\U0001F41F", 1).value == U'\U0001F41F');
  CHECK(code_point_at("x\U0001F41F", 1).bytes == 4);
}

// RFC 3629 §3 and §10: surrogates, overlong forms and code points past U+10FFFF are not UTF-8.
TEST_CASE("utf8: forms that RFC 3629 forbids are malformed, one byte at a time") {
  for (const char* text :
       {"\x80", "\xC0\x80", "\xC1\xBF", "\xE0\x80\x80", "\xED\xA0\x80", "\xF0\x80\x80\x80",
        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xE2\x82", "\xC3", "\xE2\x28\xA1"}) {
    CAPTURE(text);
    const CodePoint point = code_point_at(text, 0);
    CHECK_FALSE(point.valid);
    CHECK(point.bytes == 1);
    CHECK_FALSE(is_utf8(text));
  }
  CHECK(is_utf8(""));
  CHECK(is_utf8("26 °C – \U0001F41F"));
}

TEST_CASE("utf8: what is appended is read back") {
  for (const char32_t c :
       {U'\x01', U'\x7F', U'\x80', U'\u07FF', U'\u0800', U'\uFFFF', U'\U0010FFFF'}) {
    std::string text;
    append_utf8(text, c);
    CHECK(code_point_at(text, 0).value == c);
    CHECK(code_point_at(text, 0).bytes == text.size());
  }
}
