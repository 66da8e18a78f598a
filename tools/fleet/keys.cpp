#include "keys.h"

#include <boost/json/stream_parser.hpp>
#include <fstream>
#include <sstream>

namespace ebbwatch::fleet {
namespace {

namespace json = boost::json;
using Keys = std::map<std::string, std::string>;

const Error malformed{
    Errc::bad_input,
    "the keys are neither an object {\"CONTROLLER\": \"KEY\", …} nor what ebbwatch "
    "enrol CONTROLLER --json prints"};

bool add(Keys& keys, const json::value& value) {
  const auto* object = value.if_object();
  if (object == nullptr) return false;
  const auto* controller = object->if_contains("controller");
  const auto* key = object->if_contains("key");
  if (controller != nullptr && key != nullptr && controller->is_string() && key->is_string()) {
    keys[std::string(controller->get_string())] = key->get_string();
    return true;
  }
  for (const auto& member : *object) {
    if (!member.value().is_string()) return false;
    keys[std::string(member.key())] = member.value().get_string();
  }
  return true;
}

}  // namespace

Result<Keys> read_keys(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  Keys keys;
  json::stream_parser parser;
  while (text.find_first_not_of(blanks) != std::string_view::npos) {
    json::error_code error;
    text.remove_prefix(parser.write_some(text.data(), text.size(), error));
    if (!error && !parser.done()) parser.finish(error);
    if (error || !add(keys, parser.release())) return malformed;
    parser.reset();
  }
  return keys;
}

Result<Keys> read_keys_file(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  if (file) text << file.rdbuf();
  if (!file) return Error{Errc::not_found, path + ": cannot be read"};
  auto keys = read_keys(text.str());
  if (!keys) return Error{keys.error().code, path + ": " + keys.error().text};
  return keys;
}

}  // namespace ebbwatch::fleet
