#include "cli/ask.h"

#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <cstdio>

#include "control/control_client.h"

namespace ebbwatch {

void ask_and_print(Context& context, const boost::json::object& request, bool json) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto answer = ask_daemon(settings.watcher.state_dir, boost::json::serialize(request));
  if (!answer) return complain(context, answer.error().text);
  boost::system::error_code error;
  const auto parsed = boost::json::parse(answer.value(), error);
  const auto* object = error ? nullptr : parsed.if_object();
  const auto* refused = object ? object->if_contains("error") : nullptr;
  const auto* done = object ? object->if_contains("done") : nullptr;
  if (refused && refused->is_string()) {
    return complain(context, std::string(refused->get_string()));
  }
  if (!done || !done->is_string()) return complain(context, "The daemon's answer cannot be read.");
  std::printf("%s\n", json ? answer.value().c_str() : done->get_string().c_str());
}

}  // namespace ebbwatch
