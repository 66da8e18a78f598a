// A serial device (or a pseudo-terminal) on the I/O loop: the only user of termios.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace ebbwatch {

class SerialPort {
 public:
  /// Called on the loop. Bytes that came, or why there will be no more: the device has vanished.
  using Heard = std::function<void(std::string_view bytes)>;
  using Lost = std::function<void(const std::string& why)>;

  explicit SerialPort(boost::asio::any_io_executor executor);
  ~SerialPort();
  SerialPort(const SerialPort&) = delete;
  SerialPort& operator=(const SerialPort&) = delete;

  /// Opens it raw, 8N1, without flow control, for us alone. @param speed in bits a second, as
  /// settings allow. Errors: unavailable, busy (another program has it), bad_input (no terminal).
  Result<void> open(const std::string& device, unsigned speed, Heard heard, Lost lost);
  /// After it, neither callback comes any more.
  void close();
  bool is_open() const { return wire_ != nullptr; }
  /// Never blocks: what the device does not take yet waits, up to a limit that no text reaches.
  void write(std::string_view bytes);

 private:
  struct Wire;
  boost::asio::any_io_executor executor_;
  std::shared_ptr<Wire> wire_;
};

}  // namespace ebbwatch
