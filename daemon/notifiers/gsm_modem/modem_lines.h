// What a modem says, cut into lines and understood one by one (3GPP TS 27.007 §4, ITU-T V.250).
// Pure.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

inline constexpr std::size_t modem_line_bytes_max = 2048;  ///< What is longer is dropped.

struct ModemLine {
  enum class Kind {
    prompt,  ///< ">": the modem waits for the text.
    ok,
    error,      ///< ERROR, or a refusal to dial of V.250.
    cms_error,  ///< `number`, or -1 when it came in words.
    cme_error,
    other,  ///< An answer, an echo, or news that nobody asked for.
  };
  Kind kind = Kind::other;
  int number = 0;
  std::string text;
};

/// Bytes in, lines out.
class ModemLines {
 public:
  /// The lines that `bytes` complete. A prompt is not followed by a line end.
  std::vector<ModemLine> add(std::string_view bytes);
  /// Forgets a line that has begun.
  void clear() { begun_.clear(); }

 private:
  std::string begun_;
  bool too_long_ = false;
};

/// The fields after "+CREG: ", split at commas outside quotes, without the quotes. Empty when the
/// line does not begin with `prefix`, which includes the colon.
std::vector<std::string> modem_fields(std::string_view line, std::string_view prefix);
/// A plain number from 0; empty when it is none.
std::optional<int> modem_number(std::string_view text);

}  // namespace ebbwatch
