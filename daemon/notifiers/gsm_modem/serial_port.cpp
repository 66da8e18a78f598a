#include "notifiers/gsm_modem/serial_port.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/buffer.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>
#include <cstring>
#include <utility>

#include "core/invariant.h"

namespace ebbwatch {
namespace asio = boost::asio;
using boost::system::error_code;

namespace {

constexpr std::size_t unsent_bytes_max = 16 * 1024;

speed_t speed_code(unsigned speed) {
  switch (speed) {
    case 9600:
      return B9600;
    case 19200:
      return B19200;
    case 38400:
      return B38400;
    case 57600:
      return B57600;
    case 115200:
      return B115200;
    case 230400:
      return B230400;
    case 460800:
      return B460800;
    case 921600:
      return B921600;
    default:
      return B0;
  }
}

Error failure(Errc code, const std::string& device, const std::string& what) {
  return Error{code, device + ": " + what};
}

Result<void> make_raw(int fd, const std::string& device, unsigned speed) {
  termios how{};
  if (tcgetattr(fd, &how) != 0) return failure(Errc::bad_input, device, "not a serial device");
  cfmakeraw(&how);
  how.c_cflag |= CLOCAL | CREAD;
  how.c_cflag &= ~static_cast<tcflag_t>(CRTSCTS | HUPCL);
  INVARIANT(speed_code(speed) != B0);
  cfsetispeed(&how, speed_code(speed));
  cfsetospeed(&how, speed_code(speed));
  if (tcsetattr(fd, TCSANOW, &how) != 0) {
    return failure(Errc::unavailable, device, std::strerror(errno));
  }
  tcflush(fd, TCIOFLUSH);
  return {};
}

}  // namespace

struct SerialPort::Wire : std::enable_shared_from_this<Wire> {
  Wire(const asio::any_io_executor& executor, int fd) : descriptor(executor, fd) {}

  void read() {
    descriptor.async_read_some(asio::buffer(block),
                               [self = shared_from_this()](error_code error, std::size_t count) {
                                 if (self->closed) return;
                                 if (error) return self->lost(error.message());
                                 self->heard(std::string_view(self->block.data(), count));
                                 if (!self->closed) self->read();
                               });
  }
  void write() {
    if (writing || unsent.empty() || closed) return;
    writing = true;
    being_sent = std::exchange(unsent, {});
    asio::async_write(descriptor, asio::buffer(being_sent),
                      [self = shared_from_this()](error_code error, std::size_t) {
                        self->writing = false;
                        if (self->closed) return;
                        if (error) return self->lost(error.message());
                        self->write();
                      });
  }

  asio::posix::stream_descriptor descriptor;
  Heard heard;
  Lost lost;
  std::array<char, 1024> block{};
  std::string unsent, being_sent;
  bool writing = false, closed = false;
};

SerialPort::SerialPort(asio::any_io_executor executor) : executor_(std::move(executor)) {}

SerialPort::~SerialPort() {
  close();
}

Result<void> SerialPort::open(const std::string& device, unsigned speed, Heard heard, Lost lost) {
  close();
  const int fd = ::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0) {
    const bool taken = errno == EBUSY;
    return failure(taken ? Errc::busy : Errc::unavailable, device, std::strerror(errno));
  }
  auto wire = std::make_shared<Wire>(executor_, fd);  // Closes it from now on.
  if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
    return failure(Errc::busy, device, "another program uses it");
  }
  if (auto made = make_raw(fd, device, speed); !made) return made.error();
  ioctl(fd, TIOCEXCL);
  wire->heard = std::move(heard);
  wire->lost = std::move(lost);
  wire_ = std::move(wire);
  wire_->read();
  return {};
}

void SerialPort::close() {
  if (!wire_) return;
  wire_->closed = true;
  error_code ignored;
  wire_->descriptor.close(ignored);
  wire_.reset();
}

void SerialPort::write(std::string_view bytes) {
  if (!wire_) return;
  const std::size_t room = unsent_bytes_max - std::min(unsent_bytes_max, wire_->unsent.size());
  wire_->unsent += bytes.substr(0, room);
  wire_->write();
}

}  // namespace ebbwatch
