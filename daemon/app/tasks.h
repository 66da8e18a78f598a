// Every coroutine of the daemon starts here: named, stoppable, and never silently gone.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <functional>
#include <list>
#include <string>

namespace ebbwatch {

class Tasks {
 public:
  /// Told when a task ends with an exception that is not cancellation. `essential`: the daemon
  /// cannot go on without it.
  using Failed =
      std::function<void(const std::string& name, const std::string& what, bool essential)>;
  enum class Role { essential, helper };

  Tasks(boost::asio::any_io_executor executor, Failed failed);

  /// @param body is handed over, not called here: its captures live as long as the coroutine.
  void start(std::string name, Role role, std::function<boost::asio::awaitable<void>()> body);
  /// Asks every task to end (terminal cancellation).
  void cancel_all();
  std::size_t running() const { return running_.size(); }
  /// Called each time a task ends, so that a stop can be waited for.
  void on_ended(std::function<void()> ended) { ended_ = std::move(ended); }

 private:
  struct Task {
    std::string name;
    Role role = Role::helper;
    boost::asio::cancellation_signal cancel;
  };
  boost::asio::any_io_executor executor_;
  Failed failed_;
  std::function<void()> ended_;
  std::list<Task> running_;
};

}  // namespace ebbwatch
