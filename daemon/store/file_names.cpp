#include "store/file_names.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace fs = std::filesystem;

Error failed(const std::string& what, int system_error) {
  return {Errc::storage, what + " (" + std::strerror(system_error) +
                             "). Check that the folder belongs to this user, is not mounted "
                             "read-only, and that the disk is not full."};
}

bool exists(const std::string& path) {
  return ::access(path.c_str(), F_OK) == 0;
}

/// "20261126T153000Z"
std::string stamp(WallTime now) {
  std::string text = to_rfc3339(now).substr(0, 19) + "Z";
  std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
  return text;
}

std::string free_name(const std::string& path, std::string_view why, WallTime now) {
  const std::string name = path + "." + std::string(why) + "-" + stamp(now);
  std::string tried = name;
  for (int count = 2; exists(tried); ++count) tried = name + "-" + std::to_string(count);
  return tried;
}

Result<void> move_file(const std::string& from, const std::string& to) {
  if (std::rename(from.c_str(), to.c_str()) == 0) return {};
  return failed("The file " + from + " cannot be moved to " + to, errno);
}

void sync_folder_of(const std::string& path) {
  const std::string folder = fs::path(path).parent_path().string();
  const int handle = ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_CLOEXEC);
  if (handle < 0) return;
  (void)::fsync(handle);  // Some file systems cannot sync folders.
  ::close(handle);
}

}  // namespace

Result<std::string> put_in_place(const std::string& fresh, const std::string& path,
                                 std::string_view why, WallTime now) {
  std::string aside;
  if (exists(path)) {
    aside = free_name(path, why, now);
    // A second name first, so that there is a database at each moment; then its log must go before
    // the fresh one comes, or SQLite would play it into that.
    const bool linked = ::link(path.c_str(), aside.c_str()) == 0;
    for (const char* suffix : {"-wal", "-shm"}) {
      if (!exists(path + suffix)) continue;
      const auto moved = move_file(path + suffix, aside + suffix);
      if (!moved) return moved.error();
    }
    if (!linked) {
      const auto moved = move_file(path, aside);
      if (!moved) return moved.error();
    }
  }
  const auto moved = move_file(fresh, path);
  if (!moved) return moved.error();
  sync_folder_of(path);
  return aside;
}

std::vector<std::string> damaged_files(const std::string& path) {
  std::vector<std::string> found;
  const fs::path whole(path);
  const std::string start = whole.filename().string() + "." + std::string(aside_damaged) + "-";
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(whole.parent_path(), ignored)) {
    const std::string name = entry.path().filename().string();
    const bool part = name.ends_with("-wal") || name.ends_with("-shm") || name.ends_with(".txt");
    if (name.starts_with(start) && !part) found.push_back(entry.path().string());
  }
  std::sort(found.begin(), found.end());
  return found;
}

Result<void> sync_file(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return failed("The file " + path + " cannot be opened", errno);
  const bool synced = ::fsync(file) == 0;
  const int system_error = errno;
  ::close(file);
  if (!synced) return failed("The file " + path + " cannot be written", system_error);
  sync_folder_of(path);
  return {};
}

void remove_database(const std::string& path) {
  for (const char* suffix : {"-wal", "-shm", "-journal", ""}) ::unlink((path + suffix).c_str());
}

}  // namespace ebbwatch
