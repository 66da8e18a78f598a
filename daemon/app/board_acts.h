// What people do on the board, behind the gate: turns a form into a command of the engine or a line
// of the record, and says where to go next. Lives on the loop.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <optional>
#include <string>

#include "app/committer.h"
#include "app/engine.h"
#include "app/store_thread.h"
#include "board/gate.h"
#include "board/view.h"

namespace ebbwatch {

class BoardActs {
 public:
  struct Parts {
    Engine& engine;
    Committer& committer;
    StoreThread& store;
    const Clock& clock;
  };
  explicit BoardActs(Parts parts) : parts_(parts) {}

  /// @pre the gate let it pass and its page is one of these: acknowledge, note, mark, shelve,
  /// unshelve, drill. Answers 303 when it is done and stored; 400 for a form that says too little,
  /// 403 at a site that is not the person's own, 404, 409 when it cannot be done now.
  boost::asio::awaitable<BoardAnswer> act(Passed passed);

 private:
  boost::asio::awaitable<BoardAnswer> acknowledge(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> note(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> mark(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> drill(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> write_down(const Passed& passed, const char* act,
                                                 std::string text);
  std::optional<BoardAnswer> shelve(const Passed& passed);
  std::optional<BoardAnswer> unshelve(const Passed& passed);

  bool may_act(const Session& session, const std::vector<std::string>& sites) const;
  Parts parts_;
};

/// Where this session may act, for the forms that its pages offer.
std::vector<std::string> own_sites(const Settings& settings, const Session& session);
/// "harbour-17", also by the name that watchers share; empty when it cannot be one.
std::optional<OutageId> outage_called(const Engine& engine, const std::string& text);
/// The name in the record: a keyholder's identifier, else the name that was given.
std::string doer(const Session& session);

/// Without blanks around it and with plain line ends. Empty: it has nothing to say, more than
/// `most` characters, control characters besides tabs and line ends, or is not UTF-8.
std::string clean_text(std::string text, std::size_t most);

}  // namespace ebbwatch
