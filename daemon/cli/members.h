// What the daemon's answers hold, read without fuss.
#pragma once

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>
#include <string>
#include <string_view>

namespace ebbwatch {

/// The text under `key`; empty when it is missing or no text.
inline std::string member(const boost::json::object& object, std::string_view key) {
  const boost::json::value* found = object.if_contains(key);
  return found && found->is_string() ? std::string(found->get_string()) : std::string();
}

}  // namespace ebbwatch
