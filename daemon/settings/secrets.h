// Reads a secret from where the settings say it is kept.
#pragma once

#include <string>

#include "core/result.h"
#include "settings/settings.h"

namespace ebbwatch {

/// A file relative to the configuration file's folder, a systemd credential
/// ($CREDENTIALS_DIRECTORY/NAME), or an environment variable. One final LF is stripped. Errors name
/// the source, never the content; a file that others can read is an error with the remedy (chmod).
Result<std::string> read_secret(const SecretSource& source, const std::string& configuration_file);

}  // namespace ebbwatch
