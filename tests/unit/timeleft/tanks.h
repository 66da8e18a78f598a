// The tanks of the examples.
#pragma once

#include "timeleft/heat_loss.h"

namespace ebbwatch::test {

/// 80 x 35 cm, 36 cm deep, glass of 6 mm, fresh water: 100.8 L.
inline TankBody tank_a(Cover cover) {
  return {{0.80, 0.35, 0.36}, wall_transfer(0.006, glass_conductivity), cover, 0};
}
/// 120 x 50 cm, 50 cm deep, glass of 12 mm, reef: 300 L.
inline TankBody tank_b(Cover cover) {
  return {{1.20, 0.50, 0.50}, wall_transfer(0.012, glass_conductivity), cover, 35};
}

}  // namespace ebbwatch::test
