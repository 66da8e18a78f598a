// How an expected failure travels: a code for programs, a text for people, never an exception.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>

namespace ebbwatch {

enum class Errc : std::uint8_t {
  bad_input,  ///< Malformed or out of range; `text` says where and what to change.
  not_found,
  refused,      ///< Understood, but not allowed.
  busy,         ///< Try again later (a locked database, a full queue).
  unavailable,  ///< A peer, server or device cannot be reached.
  timed_out,
  storage,        ///< Disk full, read-only or broken.
  newer_version,  ///< Written by a later version; left untouched.
  cancelled,
};

struct Error {
  Errc code = Errc::bad_input;
  std::string text;  ///< A sentence for people; no secrets.
};

/// Either a value or an Error. Check ok() before value().
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value)
      : held_(std::in_place_index<0>, std::move(value)) {}  // NOLINT(google-explicit-constructor)
  Result(Error error)
      : held_(std::in_place_index<1>, std::move(error)) {}  // NOLINT(google-explicit-constructor)
  bool ok() const { return held_.index() == 0; }
  explicit operator bool() const { return ok(); }
  T& value() { return std::get<0>(held_); }
  const T& value() const { return std::get<0>(held_); }
  const Error& error() const { return std::get<1>(held_); }

 private:
  std::variant<T, Error> held_;
};

template <>
class [[nodiscard]] Result<void> {
 public:
  Result() = default;
  Result(Error error)
      : error_(std::move(error)), ok_(false) {}  // NOLINT(google-explicit-constructor)
  bool ok() const { return ok_; }
  explicit operator bool() const { return ok_; }
  const Error& error() const { return error_; }

 private:
  Error error_;
  bool ok_ = true;
};

}  // namespace ebbwatch
