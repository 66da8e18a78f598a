// Programs that stand at the other end in tests: started on loopback, waited for by connecting,
// stopped by process id.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch::test {

/// One running program with its output in a file. It ends with this object, and with the test.
class Counterpart {
 public:
  /// Fails the test when the program cannot be started. @param output receives both outputs.
  Counterpart(std::vector<std::string> command, std::string output);
  Counterpart(const Counterpart&) = delete;
  Counterpart& operator=(const Counterpart&) = delete;
  ~Counterpart();

  std::string output() const;
  /// The port that it printed as "listening PORT", once it can be connected to.
  std::uint16_t port() const;
  /// Ends it now.
  void stop();

 private:
  pid_t pid_ = 0;
  std::string output_;
};

/// The path of a script in tests/counterparts.
std::string counterpart_path(const std::string& name);
/// Polls until `condition` holds. @return false when it did not within `limit`.
bool holds_within(std::chrono::milliseconds limit, const std::function<bool()>& condition);
bool can_connect(std::uint16_t port);
/// A TCP port of loopback that nobody uses at this moment.
std::uint16_t free_port();
std::string read_file(const std::string& path);
void write_file(const std::string& path, std::string_view content, unsigned mode = 0600);

}  // namespace ebbwatch::test
