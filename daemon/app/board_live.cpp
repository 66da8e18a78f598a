#include "app/board_live.h"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <utility>

#include "board/pages.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr auto gather_for = std::chrono::milliseconds(100);

/// What goes to every page, whoever reads it: the page puts in its own form token, or takes the
/// forms out.
Frame frame_for_all() {
  Frame frame;
  // With every form: each page keeps those that its reader may use, and the routes check again.
  frame.role = Role::host;
  return frame;
}

}  // namespace

class BoardLive::Stream final : public BodyStream {
 public:
  Stream(BoardLive& live, std::uint64_t seen, std::string beginning, std::function<bool()> welcome)
      : live_(live),
        wake_(live.loop_),
        seen_(seen),
        beginning_(std::move(beginning)),
        welcome_(std::move(welcome)) {
    live_.streams_.insert(this);
  }
  ~Stream() override { live_.streams_.erase(this); }

  boost::asio::awaitable<std::string> next() override {
    if (!beginning_.empty()) co_return std::exchange(beginning_, {});
    while (!live_.stopped_ && welcome_()) {
      auto news = live_.feed_.since(seen_);
      if (!news.empty()) co_return news;
      wake_.expires_after(std::chrono::microseconds(limits::board_heartbeat.us));
      const auto [error] =
          co_await wake_.async_wait(boost::asio::as_tuple(boost::asio::use_awaitable));
      if (!error) co_return EventFeed::heartbeat();
    }
    co_return std::string();
  }
  void wake() { wake_.cancel(); }

 private:
  BoardLive& live_;
  boost::asio::steady_timer wake_;
  std::uint64_t seen_;
  std::string beginning_;
  std::function<bool()> welcome_;
};

BoardLive::BoardLive(boost::asio::any_io_executor loop, std::function<PanelView()> view,
                     std::string run)
    : loop_(std::move(loop)), view_(std::move(view)), feed_(std::move(run)), soon_(loop_) {}

void BoardLive::changed() {
  if (waiting_ || stopped_ || streams_.empty()) return;
  waiting_ = true;
  soon_.expires_after(gather_for);
  soon_.async_wait([this](const boost::system::error_code& error) {
    waiting_ = false;
    if (!error) compare();
  });
}

std::string BoardLive::refresh() {
  compare();
  return feed_.newest_id();
}

void BoardLive::compare() {
  PanelView now = view_();
  const auto before = feed_.newest();
  if (shown_before_ && now.windows.size() != shown_.windows.size()) {
    feed_.add("reload", "now");  // Another configuration.
  } else if (shown_before_) {
    for (std::size_t i = 0; i < now.windows.size(); ++i) {
      if (now.windows[i] != shown_.windows[i]) {
        feed_.add("window", window_part(now.windows[i]).str());
      }
    }
    if (feed_.newest() != before || now.running != shown_.running) {
      feed_.add("news", news_part(frame_for_all(), now).str());
    }
  }
  shown_ = std::move(now);
  shown_before_ = true;
  if (feed_.newest() == before) return;
  for (Stream* stream : streams_) stream->wake();
}

std::shared_ptr<BodyStream> BoardLive::open(std::string_view seen, std::function<bool()> welcome) {
  if (stopped_ || streams_.size() >= limits::board_streams_max) return nullptr;
  compare();
  const auto number = feed_.parse_id(seen);
  if (!number) {
    return std::make_shared<Stream>(*this, feed_.newest(), feed_.opening() + feed_.reload(),
                                    std::move(welcome));
  }
  return std::make_shared<Stream>(*this, *number, feed_.opening(*number), std::move(welcome));
}

void BoardLive::recheck() {
  for (Stream* stream : streams_) stream->wake();
}

void BoardLive::stop() {
  stopped_ = true;
  soon_.cancel();
  recheck();
}

}  // namespace ebbwatch
