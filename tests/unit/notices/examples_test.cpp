#include "notices/examples.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "notices/lines.h"
#include "text/gsm7.h"
#include "text/utf8.h"

using namespace ebbwatch;

namespace {

struct Page {
  Language language;
  const char* file;
  const char* title;
};
constexpr Page pages[] = {{Language::english, "examples.md", "What people get"},
                          {Language::german, "examples_de.md", "What people get, in German"},
                          {Language::spanish, "examples_es.md", "What people get, in Spanish"}};

std::vector<sample::Example> examples_in(Language language) {
  std::vector<sample::Example> all = sample::examples();
  for (sample::Example& example : all) example.telling.language = language;
  return all;
}

std::string as_a_person_sees_them(const Page& page) {
  std::string text = std::string("# ") + page.title + "\n";
  for (const sample::Example& example : examples_in(page.language)) {
    const Texts texts = compose(example.story, example.telling);
    text += "\n## " + example.title + "\n\nMail:\n\n```\nSubject: " + texts.subject + "\n\n" +
            texts.text + "```\n\nText to a phone (" +
            std::to_string(gsm7_septets(texts.short_text)) + " of 160):\n\n```\n" +
            texts.short_text + "\n```\n";
  }
  return text;
}

std::string stored_page(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

void check_limits(const Texts& texts) {
  CHECK(columns(texts.subject) <= 78);
  CHECK(texts.subject.find('\n') == std::string::npos);
  CHECK(is_utf8(texts.text));
  CHECK(texts.text.ends_with('\n'));
  std::istringstream lines(texts.text);
  for (std::string line; std::getline(lines, line);) {
    CHECK(columns(line) <= 78);
    CHECK_FALSE(line.ends_with(' '));
  }
  CHECK(is_gsm7(texts.short_text));
  CHECK(gsm7_septets(texts.short_text) <= 160);
  CHECK(segments(texts.short_text)->count == 1);
  for (const std::string* text : {&texts.subject, &texts.text, &texts.short_text}) {
    CHECK(text->find('{') == std::string::npos);
  }
}

}  // namespace

// EBBWATCH_WRITE_EXAMPLES=1 writes the pages anew; read them aloud before committing them.
TEST_CASE("examples: every message reads as on the page of examples of its language") {
  sample::use_utc();
  for (const Page& page : pages) {
    CAPTURE(page.file);
    const std::string path = std::string(EBBWATCH_SOURCE_DIR "/tests/unit/notices/") + page.file;
    const std::string text = as_a_person_sees_them(page);
    if (std::getenv("EBBWATCH_WRITE_EXAMPLES") != nullptr) std::ofstream(path) << text;
    CHECK(stored_page(path) == text);
  }
}

TEST_CASE("examples: every message keeps the limits of mail and of phones in every language") {
  sample::use_utc();
  for (const Language language : all_languages) {
    for (const sample::Example& example : examples_in(language)) {
      CAPTURE(example.title);
      check_limits(compose(example.story, example.telling));
    }
  }
}
