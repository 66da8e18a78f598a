#include "settings/files.h"

#include <glob.h>
#include <sys/stat.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>

namespace ebbwatch {
namespace {

std::string folder_of(const std::string& path) {
  const auto slash = path.rfind('/');
  if (slash == path.npos) return ".";
  return slash == 0 ? "/" : path.substr(0, slash);
}

bool is_folder(const std::string& path) {
  struct stat info {};
  return stat(path.c_str(), &info) == 0 && S_ISDIR(info.st_mode);
}

}  // namespace

Result<std::string> read_file(const std::string& path, std::size_t bytes_max) {
  struct stat info {};
  if (stat(path.c_str(), &info) != 0) {
    const Errc code = errno == ENOENT || errno == ENOTDIR ? Errc::not_found : Errc::refused;
    return Error{code, std::strerror(errno)};
  }
  if (S_ISDIR(info.st_mode)) return Error{Errc::bad_input, "Is a folder"};
  std::ifstream in(path, std::ios::binary);
  if (!in) return Error{Errc::refused, std::strerror(errno)};
  std::string content;
  char block[16 * 1024];
  while (content.size() <= bytes_max && (in.read(block, sizeof block) || in.gcount() > 0)) {
    content.append(block, static_cast<std::size_t>(in.gcount()));
  }
  if (in.bad()) return Error{Errc::storage, "Reading failed"};
  if (content.size() > bytes_max) {
    return Error{Errc::bad_input, "Larger than " + std::to_string(bytes_max) + " bytes"};
  }
  return content;
}

std::string beside(const std::string& path, const std::string& from_file) {
  if (!path.empty() && path.front() == '/') return path;
  const std::string folder = folder_of(from_file);
  return folder == "." ? path : folder + (folder == "/" ? "" : "/") + path;
}

Result<std::vector<std::string>> included_files(const std::string& pattern,
                                                const std::string& from_file) {
  const std::string whole = beside(pattern, from_file);
  const bool has_wildcard = pattern.find_first_of("*?[") != pattern.npos;
  glob_t found{};
  const int status = glob(whole.c_str(), 0, nullptr, &found);
  std::vector<std::string> files(found.gl_pathv, found.gl_pathv + found.gl_pathc);
  globfree(&found);
  if (status != 0 && status != GLOB_NOMATCH) {
    return Error{Errc::storage, "could not list " + whole};
  }
  if (!files.empty()) return files;
  if (!has_wildcard) return Error{Errc::not_found, "no file " + whole};
  const std::string folder = folder_of(whole);
  if (folder.find_first_of("*?[") == folder.npos && !is_folder(folder)) {
    return Error{Errc::not_found, "no folder " + folder};
  }
  return files;
}

bool is_same_file(const std::string& a, const std::string& b) {
  struct stat first {
  }, second{};
  return stat(a.c_str(), &first) == 0 && stat(b.c_str(), &second) == 0 &&
         first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

}  // namespace ebbwatch
