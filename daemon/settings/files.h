// Reading files and finding included ones, without exceptions. Private to settings/.
#pragma once

#include <string>
#include <vector>

#include "core/result.h"

namespace ebbwatch {

/// The whole file. Errors: not_found, refused (no permission), bad_input (a folder, too large).
Result<std::string> read_file(const std::string& path, std::size_t bytes_max);
/// The files that a pattern of `include` stands for, in the order of their names. A relative
/// pattern starts from the folder of `from_file`. A pattern with * ? [ may stand for no file at
/// all, as long as its folder exists; a plain path must exist. Errors: not_found with what was
/// looked for.
Result<std::vector<std::string>> included_files(const std::string& pattern,
                                                const std::string& from_file);
/// `path`, or the folder of `from_file` and `path` when it is relative.
std::string beside(const std::string& path, const std::string& from_file);
/// Whether both names lead to the same file.
bool is_same_file(const std::string& a, const std::string& b);

}  // namespace ebbwatch
