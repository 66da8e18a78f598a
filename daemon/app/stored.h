// Waits, in a coroutine on the loop, until what people did is stored, so that nobody is told
// "you have it" and a crash forgets it.
#pragma once

#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <memory>
#include <utility>

#include "app/committer.h"

namespace ebbwatch {

/// Ends when all that was given to the committer before is stored, or cannot be stored now: then
/// the answer is given all the same. `committer` must outlive it.
inline boost::asio::awaitable<void> stored(Committer& committer) {
  co_await boost::asio::async_initiate<decltype(boost::asio::use_awaitable), void()>(
      [&committer](auto handler) {
        auto shared = std::make_shared<decltype(handler)>(std::move(handler));
        committer.now({}, [shared](bool) { (*shared)(); });
      },
      boost::asio::use_awaitable);
}

}  // namespace ebbwatch
