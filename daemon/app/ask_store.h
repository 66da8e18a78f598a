// Asks the store's thread from a coroutine on the loop.
#pragma once

#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <functional>
#include <memory>
#include <utility>

#include "app/store_thread.h"

namespace ebbwatch {

/// `work` runs on the store's thread; its result comes back to the loop. `store` must outlive it.
/// Give `work` as a variable that is moved: g++ 12 destroys a temporary one twice when it is
/// written inside the co_await expression.
template <class T>
boost::asio::awaitable<T> ask_store(StoreThread& store, std::function<T(Store&)> work) {
  co_return co_await boost::asio::async_initiate<decltype(boost::asio::use_awaitable), void(T)>(
      [&store](auto handler, std::function<T(Store&)> asked) {
        auto shared = std::make_shared<decltype(handler)>(std::move(handler));
        store.run<T>(std::move(asked), [shared](T result) { (*shared)(std::move(result)); });
      },
      boost::asio::use_awaitable, std::move(work));
}

}  // namespace ebbwatch
