// Lines of a file, plain or gzip, in memory that does not grow with the file. The only user of
// zlib.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace ebbwatch {

class InputFile {
 public:
  /// Errors: not_found, refused, bad_input (a folder).
  static Result<InputFile> open(const std::string& path);
  InputFile(InputFile&&) noexcept;
  InputFile& operator=(InputFile&&) noexcept;
  ~InputFile();

  /// The next line without its end (LF or CR LF). `line` is valid until the next call.
  /// @return false at the end. Errors: bad_input for a line of more than 64 KiB, broken gzip, or a
  /// gzip file that ends too early; storage when reading fails.
  Result<bool> next_line(std::string_view& line);
  /// Of the last line, from 1.
  std::uint64_t line_number() const { return line_number_; }
  /// How much of the file has been read, 0 to 1; for progress bars.
  double progress() const;

 private:
  struct Handle;
  InputFile(std::unique_ptr<Handle> handle, std::int64_t file_bytes);
  Result<void> refill();

  std::unique_ptr<Handle> handle_;
  std::int64_t file_bytes_;
  std::unique_ptr<char[]> buffer_;
  std::size_t begin_ = 0, end_ = 0;  ///< What is read and not given out yet.
  bool at_end_ = false;
  std::uint64_t line_number_ = 0;
};

}  // namespace ebbwatch
