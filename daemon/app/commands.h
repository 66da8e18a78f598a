// What people ask the running daemon through its control socket: views become JSON, commands become
// events of the engine.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/json/object.hpp>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/committer.h"
#include "app/engine.h"
#include "app/store_thread.h"

namespace ebbwatch {

class Doors;

class Commands {
 public:
  struct Parts {
    Engine& engine;
    Committer& committer;
    StoreThread& store;
    const Clock& clock;
    std::function<Result<void>()> reload_keys;
    const Doors& doors;
  };
  explicit Commands(Parts parts) : parts_(std::move(parts)) {}

  /// `{"command": NAME, …}`:
  ///   status                                the roll (FORMATS section 6)
  ///   acknowledge  outage, by               {"done": "…"}
  ///   shelve       subject, until, reason, by    {"done": "…"}; until is RFC 3339
  ///   unshelve     subject, by                   {"done": "…"}
  ///   out_of_service  subject, reason, by        {"done": "…"}
  ///   in_service   subject, by                   {"done": "…"}
  ///   drill        site, to, by                  {"done": "…", "outage", "told"}
  ///   stand_in     absent, stand_in, from, until, by   {"done": "…"}; from may be empty
  ///   end_stand_in  absent                       {"done": "…"}
  ///   keys                                  reads the controllers' keys again
  /// A refusal is {"error": "…"}.
  boost::asio::awaitable<std::string> handle(boost::json::object request);
  const std::string& configuration_refused() const { return configuration_refused_; }
  void set_configuration_refused(std::string why) { configuration_refused_ = std::move(why); }
  void set_set_aside(std::vector<std::string> files) { set_aside_ = std::move(files); }
  const std::vector<std::string>& set_aside() const { return set_aside_; }
  void set_unmet_wishes(std::vector<std::string> unmet) { unmet_wishes_ = std::move(unmet); }

 private:
  std::string status();
  /// What people do; empty for other commands.
  std::optional<std::string> act(const std::string& command, const boost::json::object& request);
  std::string acknowledge(const boost::json::object& request);
  std::string drill(const boost::json::object& request);
  std::string stand_in(const boost::json::object& request);
  std::string end_stand_in(const boost::json::object& request);
  std::string put_away(const boost::json::object& request, Shelf::Kind kind);
  std::string put_back(const boost::json::object& request, Shelf::Kind kind);

  Parts parts_;
  std::string configuration_refused_;
  std::vector<std::string> unmet_wishes_, set_aside_;
};

}  // namespace ebbwatch
