#include "reporting/log.h"

#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <memory>

#include "reporting/repeats.h"

namespace ebbwatch {
namespace {

constexpr std::size_t quoted_bytes_max = 200;

std::shared_ptr<spdlog::logger>& logger() {
  static std::shared_ptr<spdlog::logger> one = std::make_shared<spdlog::logger>(
      "ebbwatch", std::make_shared<spdlog::sinks::stderr_sink_mt>());
  return one;
}

std::function<void(Level, std::string_view, const std::string&)>& sink() {
  static std::function<void(Level, std::string_view, const std::string&)> one;
  return one;
}

bool under_journal_now = false;
Repeats repeats;

spdlog::level::level_enum to_spdlog(Level level) {
  switch (level) {
    case Level::debug:
      return spdlog::level::debug;
    case Level::info:
      return spdlog::level::info;
    case Level::warning:
      return spdlog::level::warn;
    case Level::error:
      break;
  }
  return spdlog::level::err;
}

/// sd-daemon(3): "<N>" at the beginning of a line is its priority in the journal.
const char* journal_priority(Level level) {
  switch (level) {
    case Level::debug:
      return "<7>";
    case Level::info:
      return "<6>";
    case Level::warning:
      return "<4>";
    case Level::error:
      break;
  }
  return "<3>";
}

/// Line ends would forge lines, and other control characters could drive a terminal.
std::string in_one_line(std::string text) {
  for (char& c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
  }
  return text;
}

void write(Level level, std::string_view event, const std::string& text) {
  if (sink()) return sink()(level, event, in_one_line(text));
  logger()->log(to_spdlog(level), "{}{} [{}]", under_journal_now ? journal_priority(level) : "",
                in_one_line(text), event);
}

/// Length of the UTF-8 character at the front; 0 when there is none or it is a control character.
std::size_t printable_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  if (byte(0) < 0x80) return byte(0) >= 0x20 && byte(0) != 0x7f ? 1 : 0;
  const std::size_t length = byte(0) >= 0xf0 ? 4 : byte(0) >= 0xe0 ? 3 : byte(0) >= 0xc2 ? 2 : 0;
  if (length == 0 || byte(0) > 0xf4 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xc0) != 0x80) return 0;
  }
  // C1 control characters, U+0080 to U+009F.
  return length == 2 && byte(0) == 0xc2 && byte(1) < 0xa0 ? 0 : length;
}

}  // namespace

void open_log(Level least, bool under_journal) {
  under_journal_now = under_journal;
  logger()->set_level(to_spdlog(least));
  logger()->set_pattern(under_journal ? "%v" : "%H:%M:%S.%e %-7l %v");
  logger()->flush_on(spdlog::level::debug);
}

void say(Level level, std::string_view event, const std::string& text) {
  const auto seen = repeats.see(spdlog::log_clock::now().time_since_epoch(), event, text);
  if (seen.earlier > 0) {
    write(level, event, "(The line before came " + std::to_string(seen.earlier) + " more times.)");
  }
  if (!seen.hold_back) write(level, event, text);
}

std::string quoted(std::string_view outside) {
  static constexpr char digits[] = "0123456789abcdef";
  std::string out = "'";
  while (!outside.empty()) {
    if (out.size() >= quoted_bytes_max) return out + "…'";
    if (const std::size_t length = printable_length(outside)) {
      if (outside[0] == '\'' || outside[0] == '\\') out += '\\';
      out += outside.substr(0, length);
      outside.remove_prefix(length);
      continue;
    }
    const auto byte = static_cast<unsigned char>(outside[0]);
    out += {'\\', 'x', digits[byte >> 4], digits[byte & 15]};
    outside.remove_prefix(1);
  }
  return out + "'";
}

void capture_log(std::function<void(Level, std::string_view, const std::string&)> to) {
  sink() = std::move(to);
}

}  // namespace ebbwatch
