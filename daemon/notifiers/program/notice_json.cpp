#include "notifiers/program/notice_json.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "text/rfc3339.h"

namespace ebbwatch {

std::string notice_json(const Message& message) {
  boost::json::object out;
  out["notice"] = message.notice;
  out["attempt"] = message.attempt;
  out["type"] = message.event_type;
  out["outage"] = message.outage;
  if (!message.first_notice.empty() && message.first_notice != message.notice) {
    out["first_notice"] = message.first_notice;
  }
  out["subject"] = message.subject_id;
  out["decided_at"] = to_rfc3339(message.decided_at);
  boost::json::object to;
  to["keyholder"] = message.keyholder;
  to["name"] = message.to_name;
  to["email"] = message.to_email;
  to["phone"] = message.to_phone;
  out["to"] = std::move(to);
  out["title"] = message.subject;
  out["text"] = message.text;
  out["short_text"] = message.short_text;
  std::string json = boost::json::serialize(out);
  if (!message.data_json.empty()) {
    json.pop_back();  // The data are JSON already: they go in before the last brace.
    json += ",\"data\":" + message.data_json + "}";
  }
  return json + "\n";
}

std::vector<std::string> program_environment(const Message& message) {
  std::vector<std::string> out{"PATH=/usr/local/bin:/usr/bin:/bin", "LANG=C.UTF-8"};
  const auto add = [&](const char* name, std::string value) {
    std::erase(value, '\0');
    out.push_back(std::string("EBBWATCH_") + name + "=" + value);
  };
  add("NOTICE", message.notice);
  add("ATTEMPT", std::to_string(message.attempt));
  add("TYPE", message.event_type);
  add("OUTAGE", message.outage);
  add("SUBJECT", message.subject_id);
  add("KEYHOLDER", message.keyholder);
  add("NAME", message.to_name);
  add("EMAIL", message.to_email);
  add("PHONE", message.to_phone);
  add("TITLE", message.subject);
  add("SHORT_TEXT", message.short_text);
  return out;
}

}  // namespace ebbwatch
