// Runs the store on a thread of its own, since a sync on an SD card can stall, and brings answers
// back to the event loop. Work is done in the order in which it was given.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <thread>

#include "ports/store.h"

namespace ebbwatch {

class StoreThread {
 public:
  /// Takes the store over; it is used and destroyed on this object's thread.
  /// @param loop where answers are delivered.
  StoreThread(std::unique_ptr<Store> store, boost::asio::any_io_executor loop);
  /// Does what is still queued, then ends the thread.
  ~StoreThread();
  StoreThread(const StoreThread&) = delete;
  StoreThread& operator=(const StoreThread&) = delete;

  /// Commits, then calls `done` on the loop.
  void commit(Batch batch, std::function<void(Result<void>)> done);

  /// Any reading: `work` runs here, `done` gets its result on the loop.
  template <class T>
  void run(std::function<T(Store&)> work, std::function<void(T)> done) {
    push([this, work = std::move(work), done = std::move(done)] {
      auto result = std::make_shared<T>(work(*store_));
      answer([done, result] { done(std::move(*result)); });
    });
  }

  std::size_t queued() const;

 private:
  void push(std::function<void()> work);
  void answer(std::function<void()> done);
  void loop();

  std::unique_ptr<Store> store_;
  boost::asio::any_io_executor loop_;
  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<std::function<void()>> queue_;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace ebbwatch
