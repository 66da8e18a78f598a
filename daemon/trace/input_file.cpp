#include "trace/input_file.h"

#include <sys/stat.h>
#include <zlib.h>

#include <cerrno>
#include <cstring>

namespace ebbwatch {
namespace {

constexpr std::size_t line_bytes_max = 64 * 1024;
constexpr std::size_t buffer_bytes = 512 * 1024;
constexpr unsigned zlib_buffer_bytes = 256 * 1024;

}  // namespace

struct InputFile::Handle {
  explicit Handle(gzFile opened) : file(opened) {}
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() { gzclose_r(file); }
  gzFile file;
};

Result<InputFile> InputFile::open(const std::string& path) {
  struct stat info {};
  if (stat(path.c_str(), &info) != 0) {
    return Error{errno == ENOENT ? Errc::not_found : Errc::refused,
                 path + ": " + std::strerror(errno)};
  }
  if (S_ISDIR(info.st_mode)) return Error{Errc::bad_input, path + ": is a folder"};
  // zlib reads plain files through the same calls.
  gzFile file = gzopen(path.c_str(), "rb");
  if (file == nullptr) return Error{Errc::refused, path + ": " + std::strerror(errno)};
  gzbuffer(file, zlib_buffer_bytes);
  return InputFile(std::make_unique<Handle>(file), info.st_size);
}

InputFile::InputFile(std::unique_ptr<Handle> handle, std::int64_t file_bytes)
    : handle_(std::move(handle)), file_bytes_(file_bytes), buffer_(new char[buffer_bytes]) {}
InputFile::InputFile(InputFile&&) noexcept = default;
InputFile& InputFile::operator=(InputFile&&) noexcept = default;
InputFile::~InputFile() = default;

Result<void> InputFile::refill() {
  std::memmove(buffer_.get(), buffer_.get() + begin_, end_ - begin_);
  end_ -= begin_;
  begin_ = 0;
  const int got =
      gzread(handle_->file, buffer_.get() + end_, static_cast<unsigned>(buffer_bytes - end_));
  int status = Z_OK;
  const char* reason = gzerror(handle_->file, &status);
  if (got < 0) {
    const bool is_damaged = status == Z_DATA_ERROR;
    return Error{is_damaged ? Errc::bad_input : Errc::storage,
                 is_damaged ? "the gzip data is damaged" : reason};
  }
  if (status == Z_BUF_ERROR) {
    return Error{Errc::bad_input, "the gzip data ends in the middle; was the file copied whole?"};
  }
  if (got == 0) at_end_ = true;
  end_ += static_cast<std::size_t>(got);
  return {};
}

Result<bool> InputFile::next_line(std::string_view& line) {
  std::size_t searched = 0;
  while (true) {
    const char* start = buffer_.get() + begin_;
    const std::size_t available = end_ - begin_;
    const void* found =
        available == searched ? nullptr : std::memchr(start + searched, '\n', available - searched);
    const bool is_last = found == nullptr && at_end_;
    if (is_last && available == 0) return false;
    if (found != nullptr || is_last) {
      const std::size_t length =
          found == nullptr ? available
                           : static_cast<std::size_t>(static_cast<const char*>(found) - start);
      line = std::string_view(start, length);
      if (line.ends_with('\r')) line.remove_suffix(1);
      begin_ += found == nullptr ? length : length + 1;
      ++line_number_;
      return true;
    }
    if (available > line_bytes_max) return Error{Errc::bad_input, "a line of more than 64 KiB"};
    searched = available;
    if (const auto filled = refill(); !filled) return filled.error();
  }
}

double InputFile::progress() const {
  if (file_bytes_ <= 0) return 1;
  return static_cast<double>(gzoffset(handle_->file)) / static_cast<double>(file_bytes_);
}

}  // namespace ebbwatch
