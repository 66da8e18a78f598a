// A folder of its own for a test, removed at the end; in memory where the system has such a place,
// since tests sync thousands of times.
#pragma once

#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace ebbwatch::test {

class TemporaryFolder {
 public:
  TemporaryFolder() {
    const bool in_memory = ::access("/dev/shm", W_OK | X_OK) == 0;
    std::string pattern = in_memory ? "/dev/shm" : std::filesystem::temp_directory_path().string();
    pattern += "/ebbwatch-test-XXXXXX";
    path_ = ::mkdtemp(pattern.data()) == nullptr ? std::string() : pattern;
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder() {
    std::error_code ignored;
    if (!path_.empty()) std::filesystem::remove_all(path_, ignored);
  }
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

}  // namespace ebbwatch::test
