#include "notifiers/webhook/cloud_event.h"

#include <boost/json/serialize.hpp>
#include <boost/json/string.hpp>

#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

std::string quoted(const std::string& text) {
  return boost::json::serialize(boost::json::string(text));
}

}  // namespace

std::string cloud_event(const Message& message, const std::string& watcher) {
  std::string out = R"({"specversion":"1.0")";
  const auto member = [&](const char* name, const std::string& value) {
    out.append(",\"").append(name).append("\":").append(value);
  };
  member("id", quoted(message.notice));
  member("source", quoted("urn:ebbwatch:" + watcher));
  member("type", quoted(message.event_type));
  // An attribute that is there must not be empty (CloudEvents 1.0, "Optional Attributes").
  if (!message.subject_id.empty()) member("subject", quoted(message.subject_id));
  member("time", quoted(to_rfc3339(message.decided_at)));
  if (!message.data_json.empty()) {
    member("datacontenttype", R"("application/json")");
    member("data", message.data_json);
  }
  return out + "}";
}

}  // namespace ebbwatch
