// The files that browsers load besides the pages, as they lie in daemon/board/assets; the build
// puts their bytes into the executable (tools/cmake/EmbedFiles.cmake).
#pragma once

#include <string_view>

namespace ebbwatch {

extern const std::string_view board_css;
extern const std::string_view board_js;
extern const std::string_view board_svg;
extern const std::string_view openapi_json;

}  // namespace ebbwatch
