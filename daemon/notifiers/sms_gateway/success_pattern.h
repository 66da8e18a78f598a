// What the answer of a gateway must look like when its status says nothing.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace ebbwatch {

/// A regular expression (ECMAScript grammar, without back references) that takes time in proportion
/// to what it is matched against, whatever the pattern. Copies share one compiled form.
class SuccessPattern {
 public:
  /// An empty pattern matches everything. Errors: bad_input, with what is wrong.
  static Result<SuccessPattern> compile(const std::string& pattern);
  /// Anywhere in the first limits::answer_matched_bytes_max bytes of `answer`.
  bool matches(std::string_view answer) const;

 private:
  struct Compiled;
  std::shared_ptr<const Compiled> compiled_;
};

}  // namespace ebbwatch
