#include "reporting/event_names.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <string>

namespace ebbwatch {
namespace {

namespace fs = std::filesystem;

/// Name to the text before it in each call of say(), from all sources of the daemon.
std::multimap<std::string, std::string> calls_of_say() {
  std::multimap<std::string, std::string> calls;
  // With a level: notices have a say() of their own.
  const std::regex call(R"re(\bsay\(\s*([^"]*?Level::[^"]*?),\s*"([^"]*)",)re");
  for (const auto& entry : fs::recursive_directory_iterator(EBBWATCH_SOURCE_DIR "/daemon")) {
    if (entry.path().extension() != ".cpp") continue;
    std::ifstream in(entry.path());
    const std::string source{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    for (std::sregex_iterator it(source.begin(), source.end(), call), end; it != end; ++it)
      calls.emplace((*it)[2].str(), (*it)[1].str());
  }
  return calls;
}

bool level_fits(const EventName& event, const std::string& expression) {
  const std::pair<const char*, Level> words[] = {{"Level::debug", Level::debug},
                                                 {"Level::info", Level::info},
                                                 {"Level::warning", Level::warning},
                                                 {"Level::error", Level::error}};
  for (const auto& [word, level] : words) {
    const bool named = expression.find(word) != std::string::npos;
    if (named && (level < event.least || level > event.most)) return false;
  }
  return expression.find("Level::") != std::string::npos;
}

TEST_CASE("event names: every line of the daemon's log is in the table, with its level") {
  const auto calls = calls_of_say();
  REQUIRE(calls.size() > 10);
  std::map<std::string, const EventName*, std::less<>> known;
  for (const auto& event : event_names) known.emplace(event.name, &event);
  for (const auto& [name, expression] : calls) {
    CAPTURE(name);
    CAPTURE(expression);
    const auto found = known.find(name);
    CHECK_MESSAGE(found != known.end(), "not in daemon/reporting/event_names.h");
    if (found != known.end()) CHECK(level_fits(*found->second, expression));
  }
}

TEST_CASE("event names: the table holds no name that nothing says") {
  const auto calls = calls_of_say();
  for (const auto& event : event_names) {
    CAPTURE(event.name);
    CHECK(calls.count(std::string(event.name)) > 0);
  }
}

TEST_CASE("event names: names are words in lower case, each once, in order") {
  const std::regex form("[a-z]+(_[a-z]+)*");
  std::string before;
  for (const auto& event : event_names) {
    const std::string name(event.name);
    CHECK(std::regex_match(name, form));
    CHECK(before < name);
    CHECK(event.least <= event.most);
    before = name;
  }
}

}  // namespace
}  // namespace ebbwatch
