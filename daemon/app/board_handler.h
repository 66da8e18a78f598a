// The board behind its listener: lets every request pass the gate, then shows, logs in, or turns an
// act of a person into a command of the engine. Lives on the loop.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "app/board_acts.h"
#include "app/board_live.h"
#include "app/board_views.h"
#include "app/committer.h"
#include "app/engine.h"
#include "app/store_thread.h"
#include "board/gate.h"
#include "board/login_brake.h"
#include "ingest/request_handler.h"

namespace ebbwatch {

class BoardHandler final : public RequestHandler {
 public:
  struct Parts {
    boost::asio::any_io_executor loop;
    Engine& engine;
    Committer& committer;
    StoreThread& store;  ///< For reading only, so that a long look keeps no decision waiting.
    const Clock& clock;
    Entropy& entropy;
    std::function<const std::string&()> configuration_refused;
    std::function<const std::vector<std::string>&()> unmet_wishes;
    std::function<const std::vector<std::string>&()> set_aside;
  };
  explicit BoardHandler(Parts parts);

  boost::asio::awaitable<HttpResponse> handle(HttpRequest request) override;
  /// Other passwords and read-only addresses from now on; who came in by an older password of the
  /// same role must log in again.
  void use(const std::vector<PasswordRow>& passwords, const std::vector<WallAddressRow>& walls);
  void changed() { live_.changed(); }
  /// Ends the event streams.
  void stop() { live_.stop(); }

 private:
  boost::asio::awaitable<BoardAnswer> show(const Passed& passed, const BoardRequest& request);
  boost::asio::awaitable<BoardAnswer> enter(const Passed& passed, const BoardRequest& request);
  boost::asio::awaitable<bool> right_password(std::string key, std::string password);
  std::string password_key(Role role, const std::string& keyholder) const;
  boost::asio::awaitable<BoardAnswer> outage(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> history(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> performance(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> drills(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> program(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> api_outages(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> api_outage(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> calendar();
  BoardAnswer login(const BoardRequest& request, LoginView view, int status);
  BoardAnswer leave(const BoardRequest& request);
  BoardAnswer panel(const Passed& passed);
  boost::asio::awaitable<BoardAnswer> site(const Passed& passed);
  HttpResponse events(const Passed& passed, const HttpRequest& request);

  BoardInput input() const;
  Frame frame_for(const Passed& passed);

  Parts parts_;
  Sessions sessions_;
  WallKeys wall_keys_;
  Gate gate_;
  LoginBrake brake_;
  BoardLive live_;
  BoardActs acts_;
  std::map<std::string, PasswordRow> passwords_;  ///< By PasswordRow::role.
  std::size_t logins_waiting_ = 0;
};

}  // namespace ebbwatch
