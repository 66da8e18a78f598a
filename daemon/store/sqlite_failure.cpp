#include <sqlite3.h>

#include <cerrno>
#include <cstring>

#include "store/database.h"

namespace ebbwatch {
namespace {

std::string reason(int system_error, std::string_view detail) {
  if (system_error != 0) return std::strerror(system_error);
  return std::string(detail);
}

Error full(const std::string& path) {
  return {Errc::storage,
          "The disk that holds " + path +
              " is full, so nothing can be stored. Make room there; ebbwatch goes on "
              "by itself as soon as a write succeeds."};
}

Error not_writable(const std::string& path, const std::string& why) {
  return {Errc::storage, "The database " + path + " cannot be opened for writing (" + why +
                             "). Check that the folder exists, belongs to the daemon's user and is "
                             "not mounted read-only, or run the command as that user."};
}

Error damaged(const std::string& path, const std::string& why) {
  return {Errc::storage,
          "The database " + path + " is damaged (" + why +
              "). Restart ebbwatchd: it puts the damaged file aside and goes on with "
              "what can be read. Or stop it and run ebbwatch restore BACKUP."};
}

}  // namespace

Error sqlite_failure(int code, int system_error, const std::string& path, std::string_view detail) {
  if (system_error == ENOSPC || system_error == EDQUOT) return full(path);
  const std::string why = reason(system_error, detail);
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:  // The write-ahead log's locks were taken again and again.
      return {Errc::busy,
              "The database " + path +
                  " is locked by another program. Try again in a moment; if this stays, "
                  "end the other program that uses the file."};
    case SQLITE_FULL:
      return full(path);
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return not_writable(path, why);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return damaged(path, std::string(detail));
    case SQLITE_IOERR:
      return {Errc::storage, "The disk failed under the database " + path + " (" + why +
                                 "). Check the disk and its cable or card, and the system's log."};
    case SQLITE_CONSTRAINT:
    case SQLITE_TOOBIG:
    case SQLITE_RANGE:
      return {Errc::bad_input,
              "The database " + path + " refused a row (" + std::string(detail) + ")."};
    default:
      return {Errc::storage, "The database " + path + " cannot be used (" + why +
                                 "). Restart ebbwatchd; if this stays, check memory and disk."};
  }
}

}  // namespace ebbwatch
