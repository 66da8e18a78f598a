#include "app/tasks.h"

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/error.hpp>
#include <boost/system/system_error.hpp>
#include <exception>

namespace ebbwatch {
namespace {

/// Empty for no exception and for cancellation, which is not an error.
std::string describe(const std::exception_ptr& error) {
  if (!error) return {};
  try {
    std::rethrow_exception(error);
  } catch (const boost::system::system_error& e) {
    return e.code() == boost::asio::error::operation_aborted ? std::string{} : e.what();
  } catch (const std::exception& e) {
    return e.what();
  } catch (...) {
    return "unknown exception";
  }
}

}  // namespace

Tasks::Tasks(boost::asio::any_io_executor executor, Failed failed)
    : executor_(std::move(executor)), failed_(std::move(failed)) {}

void Tasks::start(std::string name, Role role, std::function<boost::asio::awaitable<void>()> body) {
  auto& task = running_.emplace_back();
  task.name = std::move(name);
  task.role = role;
  const auto place = std::prev(running_.end());
  auto ended = [this, place](const std::exception_ptr& error) {
    const std::string what = describe(error);
    if (!what.empty()) failed_(place->name, what, place->role == Role::essential);
    running_.erase(place);
    if (ended_) ended_();
  };
  boost::asio::co_spawn(executor_, std::move(body),
                        boost::asio::bind_cancellation_slot(task.cancel.slot(), std::move(ended)));
}

void Tasks::cancel_all() {
  for (auto task = running_.begin(); task != running_.end();) {
    auto& one = *task++;  // Cancelling may end the task and take it off the list.
    one.cancel.emit(boost::asio::cancellation_type::terminal);
  }
}

}  // namespace ebbwatch
