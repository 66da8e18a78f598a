#include "trace/input_file.h"

#include <sstream>

#include "unit/trace/files.h"

using namespace ebbwatch;
using test::Files;

namespace {

// All lines with "|" after each, or what went wrong.
std::string lines_of(const std::string& path) {
  auto file = InputFile::open(path);
  if (!file) return "cannot open";
  std::string all;
  std::string_view line;
  while (true) {
    const auto got = file.value().next_line(line);
    if (!got) return all + "error: " + got.error().text;
    if (!got.value()) return all;
    all += std::string(line) + "|";
  }
}

std::string many_lines(int count) {
  std::ostringstream out;
  for (int i = 0; i < count; ++i) out << "line " << i << " of many, to fill more than one buffer\n";
  return out.str();
}

}  // namespace

TEST_CASE("input file: lines of a plain and of a gzip file are the same") {
  const Files files;
  const std::string content = "a,b\n\nlast";
  CHECK(lines_of(files.plain(content)) == "a,b||last|");
  CHECK(lines_of(files.gzip(content)) == "a,b||last|");
  CHECK(lines_of(files.plain("")) == "");
  CHECK(lines_of(files.plain("\n")) == "|");
}

TEST_CASE("input file: CR LF ends a line as well") {
  const Files files;
  CHECK(lines_of(files.plain("a\r\nb\r\n")) == "a|b|");
}

TEST_CASE("input file: lines are whole across the edges of the buffer") {
  const Files files;
  const std::string content = many_lines(40'000);  // About 2 MB.
  std::string expected = content;
  for (char& c : expected) c = c == '\n' ? '|' : c;
  CHECK((lines_of(files.plain(content)) == expected));
  CHECK((lines_of(files.gzip(content)) == expected));
}

TEST_CASE("input file: a line without end is an error, not a growing buffer") {
  const Files files;
  CHECK(lines_of(files.gzip("a\n" + std::string(700'000, 'x'))) ==
        "a|error: a line of more than 64 KiB");
}

TEST_CASE("input file: damaged and cut gzip files are told apart") {
  const Files files;
  const std::string whole = files.gzip(many_lines(40'000));
  std::ifstream in(whole, std::ios::binary);
  std::stringstream bytes;
  bytes << in.rdbuf();
  std::string damaged = bytes.str();
  const std::string cut = damaged.substr(0, damaged.size() / 2);
  damaged[damaged.size() / 2] = static_cast<char>(damaged[damaged.size() / 2] ^ 0x55);
  const std::string cut_result = lines_of(files.plain(cut, "cut.gz"));
  CHECK(
      cut_result.ends_with("error: the gzip data ends in the middle; was the file copied whole?"));
  CHECK(lines_of(files.plain(damaged, "damaged.gz")).ends_with("error: the gzip data is damaged"));
}

TEST_CASE("input file: what cannot be opened says why") {
  const Files files;
  const auto missing = InputFile::open(files.path() + "/none");
  REQUIRE_FALSE(missing.ok());
  CHECK(missing.error().code == Errc::not_found);
  CHECK(files.without_path(missing.error().text) == "none: No such file or directory");
  CHECK(InputFile::open(files.path()).error().code == Errc::bad_input);
}
