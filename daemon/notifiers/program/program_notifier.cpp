#include "notifiers/program/program_notifier.h"

#include <fcntl.h>
#include <signal.h>
#include <sysexits.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/system/system_error.hpp>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <utility>

#include "core/limits.h"
#include "notifiers/answer_text.h"
#include "notifiers/program/notice_json.h"

namespace ebbwatch {
namespace asio = boost::asio;

namespace {

constexpr auto no_throw = asio::as_tuple(asio::use_awaitable);

// One run of the program, from start to the empty process table.
class Run {
 public:
  Run(const asio::any_io_executor& executor, ChildProcess child)
      : child_(std::move(child)),
        end_(executor, child_.take_end_descriptor().release()),
        output_(executor, child_.take_output().release()),
        timer_(executor) {
    fcntl(output_.native_handle(), F_SETFL, O_NONBLOCK);
  }

  /// Ends within `limit` and the grace. @return empty when it had to be stopped.
  asio::awaitable<std::optional<ProgramEnd>> finish(Span limit) {
    const bool in_time = co_await wait(limit);
    if (in_time) {
      read_output();
      co_return child_.reap();
    }
    child_.signal_group(SIGTERM);
    co_await wait(limits::program_grace);
    // Also when the program itself obeyed: its children may not have.
    child_.signal_group(SIGKILL);
    co_await wait(limits::program_grace);
    read_output();
    (void)child_.reap();  // If the kernel still holds it, the destructor waits for it.
    co_return std::nullopt;
  }
  const std::string& said() const { return said_; }

 private:
  /// @return true when the program ended, false when the time did. Output is read all the while, so
  /// that a full pipe does not stop the program.
  asio::awaitable<bool> wait(Span limit) {
    using asio::experimental::awaitable_operators::operator||;
    using asio::posix::descriptor_base;
    timer_.expires_after(std::chrono::microseconds(limit.us));
    for (;;) {
      std::size_t first = 0;
      if (output_ended_) {
        const auto which = co_await (end_.async_wait(descriptor_base::wait_read, no_throw) ||
                                     timer_.async_wait(no_throw));
        first = which.index();
      } else {
        const auto which = co_await (end_.async_wait(descriptor_base::wait_read, no_throw) ||
                                     timer_.async_wait(no_throw) ||
                                     output_.async_wait(descriptor_base::wait_read, no_throw));
        first = which.index();
      }
      const auto state = co_await asio::this_coro::cancellation_state;
      if (state.cancelled() != asio::cancellation_type::none) {
        throw boost::system::system_error(asio::error::operation_aborted);
      }
      if (first == 2) {
        read_output();
      } else {
        co_return first == 0;
      }
    }
  }

  // Takes what is there, at most a pipe's content a turn, and keeps the beginning.
  void read_output() {
    std::array<char, 4096> block;
    for (int turn = 0; turn < 16 && !output_ended_; ++turn) {
      const ssize_t count = ::read(output_.native_handle(), block.data(), block.size());
      if (count < 0) return;
      output_ended_ = count == 0;
      const std::size_t room = 2 * limits::answer_text_bytes_max - said_.size();
      said_.append(block.data(), std::min(static_cast<std::size_t>(count), room));
    }
  }

  ChildProcess child_;
  asio::posix::stream_descriptor end_, output_;
  asio::steady_timer timer_;
  std::string said_;
  bool output_ended_ = false;
};

std::string end_text(const std::optional<ProgramEnd>& end, const std::string& said) {
  std::string out = "stopped at its time limit";
  if (end && end->signal) out = "ended by signal " + std::to_string(*end->signal);
  if (end && end->exit_status) out = "exit status " + std::to_string(*end->exit_status);
  return answer_text(said.empty() ? out : out + ": " + said);
}

class ProgramNotifier final : public Notifier {
 public:
  explicit ProgramNotifier(ProgramSettings settings) : settings_(std::move(settings)) {}

  asio::awaitable<Outcome> deliver(Message message) override {
    auto child =
        ChildProcess::start(settings_.command, program_environment(message), notice_json(message));
    if (!child) {
      const bool again = child.error().code == Errc::busy;
      co_return Outcome{again ? Outcome::Kind::retry_later : Outcome::Kind::rejected_forever,
                        child.error().text, std::nullopt};
    }
    Run run(co_await asio::this_coro::executor, std::move(child.value()));
    const auto end = co_await run.finish(std::min(settings_.time_limit, limits::program_time_max));
    co_return Outcome{end ? program_end_kind(*end) : Outcome::Kind::unknown,
                      end_text(end, run.said()), std::nullopt};
  }

  asio::awaitable<std::optional<Outcome>> check() override {
    const std::string& program = settings_.command.front();
    if (access(program.c_str(), X_OK) == 0) {
      co_return Outcome{Outcome::Kind::delivered, "it can be run", std::nullopt};
    }
    co_return Outcome{Outcome::Kind::rejected_forever, program + ": " + std::strerror(errno),
                      std::nullopt};
  }

 private:
  ProgramSettings settings_;
};

}  // namespace

Outcome::Kind program_end_kind(const ProgramEnd& end) {
  constexpr std::array for_good{EX_USAGE,    EX_DATAERR, EX_NOINPUT,   EX_NOUSER,   EX_NOHOST,
                                EX_SOFTWARE, EX_OSFILE,  EX_CANTCREAT, EX_PROTOCOL, EX_NOPERM,
                                EX_CONFIG,   126,        127};
  if (!end.exit_status) return Outcome::Kind::unknown;
  if (*end.exit_status == 0) return Outcome::Kind::delivered;
  const bool refused =
      std::find(for_good.begin(), for_good.end(), *end.exit_status) != for_good.end();
  return refused ? Outcome::Kind::rejected_forever : Outcome::Kind::retry_later;
}

Result<std::unique_ptr<Notifier>> make_program_notifier(const ProgramSettings& settings) {
  if (settings.command.empty()) return Error{Errc::bad_input, "command: names no program"};
  if (settings.command.front().find('/') == std::string::npos) {
    return Error{Errc::bad_input, "command: \"" + settings.command.front() +
                                      "\" is no path; write the whole path of the program"};
  }
  return std::unique_ptr<Notifier>(std::make_unique<ProgramNotifier>(settings));
}

}  // namespace ebbwatch
