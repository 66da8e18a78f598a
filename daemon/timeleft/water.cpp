#include "timeleft/water.h"

#include <cmath>

namespace ebbwatch {

double to_t68(double t90_c) {
  return 1.00024 * t90_c;
}

double water_density(double salinity, double t) {
  const double fresh =
      999.842594 +
      t * (6.793952e-2 +
           t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9))));
  const double linear =
      8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)));
  const double root = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6);
  return fresh + linear * salinity + root * std::pow(salinity, 1.5) +
         4.8314e-4 * salinity * salinity;
}

double water_specific_heat(double salinity, double t) {
  const double fresh =
      4217.4 + t * (-3.720283 + t * (0.1412855 + t * (-2.654387e-3 + t * 2.093236e-5)));
  const double linear = -7.64357 + t * (0.1072763 - t * 1.38385e-3);
  const double root = 0.1770383 + t * (-4.07718e-3 + t * 5.148e-5);
  return fresh + linear * salinity + root * std::pow(salinity, 1.5);
}

}  // namespace ebbwatch
