// Equations of other authors for the same quantities, to compare with. They share no coefficient
// with daemon/timeleft.
#pragma once

#include <cmath>
#include <iterator>

namespace ebbwatch::test {

inline double polynomial(const double* coefficients, std::size_t count, double x) {
  double sum = 0;
  for (std::size_t i = count; i > 0; --i) sum = sum * x + coefficients[i - 1];
  return sum;
}

/// Oxygen saturation in µmol/kg: Garcia and Gordon, Limnology and Oceanography 37 (1992) 1307,
/// equation 8 with the Benson and Krause columns of table 1.
inline double garcia_gordon_umol_kg(double t, double s) {
  constexpr double a[] = {5.80871, 3.20291, 4.17887, 5.10006, -9.86643e-2, 3.80369};
  constexpr double b[] = {-7.01577e-3, -7.70028e-3, -1.13864e-2, -9.51519e-3};
  const double ts = std::log((298.15 - t) / (273.15 + t));
  return std::exp(polynomial(a, std::size(a), ts) + s * polynomial(b, std::size(b), ts) -
                  2.75915e-7 * s * s);
}

/// Oxygen saturation in mL/L: Weiss, Deep-Sea Research 17 (1970) 721, equation 4.
inline double weiss_ml_l(double t, double s) {
  const double k = (t + 273.15) / 100;
  return std::exp(-173.4292 + 249.6339 / k + 143.3483 * std::log(k) - 21.8492 * k +
                  s * (-0.033096 + k * (0.014259 - 0.0017 * k)));
}
inline constexpr double mg_per_ml_oxygen = 1.42905;

/// Use of trout in mg/(kg h): Liao 1971, pounds for 100 pounds of fish a day.
inline double liao_trout_mg_kg_h(double fahrenheit, double pounds) {
  const bool cold = fahrenheit <= 50;
  const double per_100_a_day = (cold ? 1.90e-6 : 3.05e-4) *
                               std::pow(fahrenheit, cold ? 3.130 : 1.855) *
                               std::pow(pounds, -0.138);
  return per_100_a_day * 1e4 / 24;
}

/// Exchange in 1/h from two deficits of saturation (shares 0 to 1), `hours` apart.
inline double exchange_per_h(double deficit_before, double deficit_after, double hours) {
  return std::log(deficit_before / deficit_after) / hours;
}

/// Time constant in the unit of `spacing` from three equally spaced temperatures.
inline double three_point_tau(double t1, double t2, double t3, double spacing) {
  return -spacing / std::log((t3 - t2) / (t2 - t1));
}

/// Runge-Kutta of fourth order; hours until y crosses `limit`, starting from `y`.
template <class Slope>
double crossing_h(Slope slope_per_h, double y, double limit, double step_h = 0.01) {
  const bool rises = limit > y;
  for (double t = 0; t < 24 * 40; t += step_h) {
    const double a = slope_per_h(t, y);
    const double b = slope_per_h(t + step_h / 2, y + step_h / 2 * a);
    const double c = slope_per_h(t + step_h / 2, y + step_h / 2 * b);
    const double d = slope_per_h(t + step_h, y + step_h * c);
    const double next = y + step_h / 6 * (a + 2 * b + 2 * c + d);
    if ((next >= limit) == rises) return t + step_h * (limit - y) / (next - y);
    y = next;
  }
  return INFINITY;
}

}  // namespace ebbwatch::test
