#include "cli/board_address.h"

namespace ebbwatch {

std::string board_address(const Settings& settings) {
  const auto& board = settings.listen.board;
  if (!board) return {};
  const bool v6 = board->address.find(':') != std::string::npos;
  return "http://" + (v6 ? "[" + board->address + "]" : board->address) + ":" +
         std::to_string(board->port) + "/";
}

}  // namespace ebbwatch
