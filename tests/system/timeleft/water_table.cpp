// Prints "salinity t90 density specific-heat" over the whole range, for water_reference_test.py.
#include <cstdio>

#include "timeleft/water.h"

int main() {
  using namespace ebbwatch;
  for (int salinity = 0; salinity <= 40; salinity += 5) {
    for (int t90 = 0; t90 <= 40; ++t90) {
      const double t68 = to_t68(t90);
      std::printf("%d %d %.6f %.6f\n", salinity, t90, water_density(salinity, t68),
                  water_specific_heat(salinity, t68));
    }
  }
  return 0;
}
