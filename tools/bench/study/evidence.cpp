// The grades of evidence beside a trace. The only file here that reads JSON.
#include <boost/json/parse.hpp>
#include <fstream>
#include <iterator>

#include "study/causes.h"

namespace ebbwatch::bench {
namespace {

bool graded_true(const boost::json::value& event) {
  const auto* object = event.if_object();
  const auto* evidence = object == nullptr ? nullptr : object->if_contains("evidence");
  const auto* grades = evidence == nullptr ? nullptr : evidence->if_object();
  const auto* any = grades == nullptr ? nullptr : grades->if_contains("any");
  return any != nullptr && any->is_bool() && any->get_bool();
}

}  // namespace

Result<std::vector<bool>> read_evidence(const TraceSet& set) {
  const std::string path = set.folder + "/truth-meta.json";
  std::ifstream file(path, std::ios::binary);
  if (!file) return std::vector<bool>{};
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  if (file.bad()) return Error{Errc::storage, path + ": cannot be read"};
  boost::json::error_code error;
  const auto parsed = boost::json::parse(text, error);
  if (error || !parsed.is_object()) return Error{Errc::bad_input, path + ": is not a JSON object"};
  const auto* events = parsed.get_object().if_contains("events");
  if (events == nullptr || !events->is_array()) return std::vector<bool>{};
  if (events->get_array().size() != set.truth.size()) {
    return Error{Errc::bad_input, path + ": not as many events as truth.csv has rows"};
  }
  std::vector<bool> evidence;
  for (const auto& event : events->get_array()) evidence.push_back(graded_true(event));
  return evidence;
}

}  // namespace ebbwatch::bench
