// The door for calls from a text message gateway: texts that people send, and reports of what
// became of ours. What stands in such a call; what it means is app/'s. Pure but for the secret.
//
//   /v1/gateway/NOTIFIER/SECRET/text            fields: sender and text
//   /v1/gateway/NOTIFIER/SECRET/report/NOTICE   field: status
//
// GET with a query, or POST with a form or a JSON object.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "core/result.h"
#include "settings/settings.h"

namespace ebbwatch {

inline constexpr std::string_view door_prefix = "/v1/gateway/";

/// Errors: those of read_secret; bad_input unless it is 16 to 128 letters, digits, `-` and `_`.
Result<std::string> read_door_secret(const GatewayCallSettings& calls,
                                     const std::string& configuration_file);

/// Without a slash at its end. `base` may have one.
std::string door_address(std::string base, const std::string& notifier, const std::string& secret);
/// What stands for {report_url}; empty without a door.
std::string report_address(const std::string& door, const std::string& notice);

struct DoorCall {
  enum class Kind : std::uint8_t { text, report };
  std::string notifier, secret;  ///< As given, to be checked.
  Kind kind = Kind::text;
  std::string notice;  ///< Of a report.
};
/// Empty when the path is none of the two.
std::optional<DoorCall> read_door_path(std::string_view path);

/// The fields of a call by their names, the body's before the query's. Of JSON: strings, numbers
/// and truth values of the outermost object. Errors: bad_input.
Result<std::map<std::string, std::string>> door_fields(std::string_view content_type,
                                                       std::string_view query,
                                                       std::string_view body);

enum class ReportWord : std::uint8_t { arrived, failed, on_its_way };
ReportWord report_word(const GatewayCallSettings& calls, std::string_view status);

}  // namespace ebbwatch
