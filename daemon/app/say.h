// The app's one way to the log.
#pragma once

#include <string>
#include <string_view>

namespace ebbwatch {

enum class Level { debug, info, warning, error };

void say(Level level, std::string_view event, const std::string& text);
/// Outside text in quotes, control characters made visible, at most 200 bytes of it.
std::string quoted(std::string_view outside);

}  // namespace ebbwatch
