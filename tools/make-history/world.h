// An invented year of a club's tanks: who checks in when, with which readings, and what failed.
// Pure: the same options give the same year.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/time.h"
#include "ports/store.h"

namespace ebbwatch::history {

struct Options {
  std::uint32_t controllers = 50;
  std::uint32_t tanks_at_a_site = 5;
  std::int64_t days = 365;
  Span interval = Span::of_min(1);
  std::uint64_t seed = 1;
  bool readings = true;  ///< Check-ins carry water temperature and watts.
};

struct Loss {
  std::uint32_t tank = 0;
  WallTime from, until;
  bool mains = false;  ///< Else the link.
};

class World {
 public:
  World(const Options& options, WallTime from);

  /// The configuration of a watcher for these tanks, one controller each.
  std::string settings_yaml(const std::string& state_dir) const;
  static std::string tank_id(std::uint32_t tank) { return "tank-" + std::to_string(tank + 1); }
  static std::string controller_id(std::uint32_t tank) { return tank_id(tank) + "-main"; }

  /// Rising by their end.
  const std::vector<Loss>& losses() const { return losses_; }
  /// The check-ins of one interval, in order of time.
  void check_ins(std::int64_t turn, std::vector<CheckInRow>& out);
  std::int64_t turns() const;

 private:
  double chance();  ///< [0, 1)
  bool silent(std::uint32_t tank, WallTime at);

  Options options_;
  WallTime from_;
  std::uint64_t state_;
  std::vector<Loss> losses_;
  std::vector<std::vector<Loss>> of_tank_;  ///< By tank, rising.
  std::vector<std::size_t> next_loss_;
};

}  // namespace ebbwatch::history
