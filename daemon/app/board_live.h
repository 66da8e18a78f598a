// Keeps open pages of the board up to date: compares the panel with what was shown last, numbers
// the differences, and hands them to every open event stream. Lives on the loop.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <memory>
#include <set>
#include <string>
#include <string_view>

#include "board/event_feed.h"
#include "board/view.h"
#include "ingest/body_stream.h"

namespace ebbwatch {

class BoardLive {
 public:
  /// @param view how the panel looks now. @param run see EventFeed.
  BoardLive(boost::asio::any_io_executor loop, std::function<PanelView()> view, std::string run);

  /// The panel may have changed. Changes within a tenth of a second become one look; without an
  /// open stream nothing is looked at.
  void changed();
  /// Compares now. @return the number of the newest event, for a page that is being made.
  std::string refresh();

  /// A stream from `seen` on (an event's number; any other text: the page must load again).
  /// @param welcome asked now and then; false ends the stream. Null when too many are open.
  std::shared_ptr<BodyStream> open(std::string_view seen, std::function<bool()> welcome);
  /// Asks at once whether each stream is still welcome.
  void recheck();
  /// Ends all streams.
  void stop();

 private:
  class Stream;
  void compare();

  boost::asio::any_io_executor loop_;
  std::function<PanelView()> view_;
  EventFeed feed_;
  PanelView shown_;
  bool shown_before_ = false;
  boost::asio::steady_timer soon_;
  bool waiting_ = false;
  bool stopped_ = false;
  std::set<Stream*> streams_;
};

}  // namespace ebbwatch
