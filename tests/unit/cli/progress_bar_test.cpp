#include "cli/progress_bar.h"

#include <doctest/doctest.h>

using namespace ebbwatch;

TEST_CASE("progress bar: its length follows the share and never leaves its columns") {
  CHECK(progress_text(0) == "[" + std::string(51, ' ') + "]   0 %");
  CHECK(progress_text(100) == "[" + std::string(51, '=') + "] 100 %");
  CHECK(progress_text(50) == "[" + std::string(25, '=') + std::string(26, ' ') + "]  50 %");
  for (int percent = -10; percent <= 200; ++percent) CHECK(progress_text(percent).size() == 59);
}
