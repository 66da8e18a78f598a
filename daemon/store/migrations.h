// Steps from an empty file to today's tables, numbered by SQLite's `user_version`. A step that was
// ever released is never edited: a change is a new step.
#pragma once

#include "core/result.h"
#include "store/database.h"

namespace ebbwatch {

/// "EBBW": marks a file as ours (PRAGMA application_id).
inline constexpr std::uint32_t schema_application_id = 0x45424257;
inline constexpr int schema_version_newest = 14;

/// Brings the tables up to `version`, each step in a transaction of its own; does nothing when they
/// are there already. Several processes may do so at once. Errors: storage, busy, and newer_version
/// when the file is ahead of schema_version_newest.
Result<void> migrate(Database& database, int version = schema_version_newest);

/// The refusal of a file from a later version.
Error newer_version_error(const std::string& path, std::int64_t version);

}  // namespace ebbwatch
