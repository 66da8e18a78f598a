#include "report/words.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <map>

#include "core/wording.h"

namespace ebbwatch::report {

std::string cause_text(const std::string& cause, double confidence) {
  static const std::map<std::string, std::string> table = {{"mains_power", "mains power off"},
                                                           {"internet", "internet link"},
                                                           {"controller", "controller itself"},
                                                           {"watcher_uplink", "our own link"}};
  const auto found = table.find(cause);
  if (found == table.end()) return "not known";
  return found->second + " (about " + std::to_string(std::lround(confidence * 100)) + " in 100)";
}

std::string lasted_text(const Outage& outage, WallTime until) {
  if (!outage.returned) return span_text(until - outage.since) + " so far";
  return span_text(*outage.returned - outage.since);
}

std::string counted(std::size_t n, const std::string& one, const std::string& many) {
  return std::to_string(n) + " " + (n == 1 ? one : many);
}

std::string notices_text(const Outage& outage) {
  if (outage.notices.empty()) return "nobody was told";
  static const std::array<std::pair<const char*, const char*>, 4> states = {
      {{"delivered", "delivered"},
       {"waiting", "waiting"},
       {"dead_letter", "given up"},
       {"withdrawn", "withdrawn"}}};
  std::string out;
  for (const auto& [state, words] : states) {
    std::size_t n = 0;
    for (const Notice& notice : outage.notices) n += notice.state == state ? 1 : 0;
    if (n > 0) out += (out.empty() ? "" : ", ") + std::to_string(n) + " " + words;
  }
  return counted(outage.notices.size(), "notice", "notices") + ": " + out;
}

std::string answer_text(const Outage& outage) {
  if (!outage.acknowledged_at) return "nobody took it on";
  return "taken on by " + outage.acknowledged_by + " after " +
         span_text(*outage.acknowledged_at - outage.decided_at);
}

std::string decimal_text(double value, int decimals) {
  std::array<char, 48> text{};
  std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  return text.data();
}

}  // namespace ebbwatch::report
