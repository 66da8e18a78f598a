#include "app/store_thread.h"

#include <boost/asio/post.hpp>

namespace ebbwatch {

StoreThread::StoreThread(std::unique_ptr<Store> store, boost::asio::any_io_executor loop)
    : store_(std::move(store)), loop_(std::move(loop)), thread_([this] { this->loop(); }) {}

StoreThread::~StoreThread() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  wake_.notify_one();
  thread_.join();
}

void StoreThread::commit(Batch batch, std::function<void(Result<void>)> done) {
  auto shared = std::make_shared<Batch>(std::move(batch));
  run<Result<void>>([shared](Store& store) { return store.commit(*shared); }, std::move(done));
}

std::size_t StoreThread::queued() const {
  const std::lock_guard lock(mutex_);
  return queue_.size();
}

void StoreThread::push(std::function<void()> work) {
  {
    const std::lock_guard lock(mutex_);
    queue_.push_back(std::move(work));
  }
  wake_.notify_one();
}

void StoreThread::answer(std::function<void()> done) {
  boost::asio::post(loop_, std::move(done));
}

void StoreThread::loop() {
  std::unique_lock lock(mutex_);
  while (true) {
    wake_.wait(lock, [this] { return ending_ || !queue_.empty(); });
    if (queue_.empty()) break;
    auto work = std::move(queue_.front());
    queue_.pop_front();
    lock.unlock();
    work();
    work = nullptr;  // Its captures go before the lock is taken again.
    lock.lock();
  }
  store_.reset();
}

}  // namespace ebbwatch
