#include "app/tasks.h"

#include <doctest/doctest.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <stdexcept>
#include <vector>

using namespace ebbwatch;
namespace asio = boost::asio;

namespace {

struct Fixture {
  asio::io_context io;
  std::vector<std::string> failures;
  Tasks tasks{io.get_executor(),
              [this](const std::string& name, const std::string& what, bool essential) {
                failures.push_back(name + ": " + what + (essential ? " (essential)" : ""));
              }};
};

asio::awaitable<void> wait_for_ever() {
  asio::steady_timer timer(co_await asio::this_coro::executor,
                           asio::steady_timer::time_point::max());
  co_await timer.async_wait(asio::use_awaitable);
}

}  // namespace

TEST_CASE_FIXTURE(Fixture, "tasks: an escaping exception is reported with the task's name") {
  tasks.start("listener", Tasks::Role::essential, []() -> asio::awaitable<void> {
    throw std::runtime_error("address in use");
    co_return;
  });
  io.run();
  CHECK(failures == std::vector<std::string>{"listener: address in use (essential)"});
  CHECK(tasks.running() == 0);
}

TEST_CASE_FIXTURE(Fixture, "tasks: cancelling ends every task, quietly") {
  int ended = 0;
  tasks.on_ended([&ended] { ++ended; });
  for (int i = 0; i < 5; ++i) tasks.start("waiter", Tasks::Role::helper, wait_for_ever);
  io.poll();
  CHECK(tasks.running() == 5);
  tasks.cancel_all();
  io.run();
  CHECK(tasks.running() == 0);
  CHECK(ended == 5);
  CHECK(failures.empty());
}

TEST_CASE_FIXTURE(Fixture, "tasks: captures of the body live as long as the coroutine") {
  std::vector<int> seen;
  {
    std::vector<int> captured{1, 2, 3};
    tasks.start("reader", Tasks::Role::helper, [captured, &seen]() -> asio::awaitable<void> {
      asio::steady_timer timer(co_await asio::this_coro::executor, std::chrono::milliseconds(1));
      co_await timer.async_wait(asio::use_awaitable);
      seen = captured;
    });
  }
  io.run();
  CHECK(seen == std::vector<int>{1, 2, 3});
}
