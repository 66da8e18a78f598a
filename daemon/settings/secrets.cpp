#include "settings/secrets.h"

#include <sys/stat.h>

#include <cstdlib>

#include "settings/files.h"

namespace ebbwatch {
namespace {

constexpr std::size_t secret_bytes_max = 64 * 1024;

Result<std::string> without_line_end(std::string secret, const std::string& source) {
  if (secret.ends_with('\n')) secret.pop_back();
  if (secret.empty()) return Error{Errc::bad_input, "The secret in " + source + " is empty."};
  return secret;
}

Result<std::string> read_secret_file(const std::string& path, const std::string& source) {
  auto content = read_file(path, secret_bytes_max);
  if (!content) {
    const std::string what = "The secret in " + source + " cannot be read: ";
    return Error{content.error().code, what + content.error().text + "."};
  }
  return without_line_end(std::move(content.value()), source);
}

bool others_can_read(const std::string& path) {
  struct stat info {};
  return stat(path.c_str(), &info) == 0 && (info.st_mode & S_IROTH) != 0;
}

Result<std::string> from_credential(const std::string& name) {
  const char* folder = std::getenv("CREDENTIALS_DIRECTORY");
  if (folder == nullptr) {
    return Error{Errc::not_found, "The credential " + name +
                                      " is not there: CREDENTIALS_DIRECTORY is not set, so the "
                                      "service manager passed no credentials."};
  }
  if (name.find('/') != name.npos) {
    return Error{Errc::bad_input, "The credential name " + name + " must not hold a slash."};
  }
  return read_secret_file(std::string(folder) + "/" + name, "credential " + name);
}

}  // namespace

Result<std::string> read_secret(const SecretSource& source, const std::string& configuration_file) {
  switch (source.kind) {
    case SecretSource::Kind::none:
      break;
    case SecretSource::Kind::credential:
      return from_credential(source.name);
    case SecretSource::Kind::environment: {
      const char* value = std::getenv(source.name.c_str());
      const std::string place = "environment variable " + source.name;
      if (value == nullptr) return Error{Errc::not_found, "The " + place + " is not set."};
      return without_line_end(value, place);
    }
    case SecretSource::Kind::file: {
      const std::string path = beside(source.name, configuration_file);
      if (others_can_read(path)) {
        return Error{Errc::refused, "Everybody on this machine can read the secret in " + path +
                                        "; make it private: chmod o-rwx " + path};
      }
      return read_secret_file(path, "file " + path);
    }
  }
  return Error{Errc::not_found, "No secret is given."};
}

}  // namespace ebbwatch
