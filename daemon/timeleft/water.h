// Density and specific heat of fresh and sea water at the surface (no depth effect).
//
// Source: UNESCO Technical Papers in Marine Science 44 (Fofonoff and Millard 1983), equations 13,
// 14 and 26; Millero and Poisson, Deep-Sea Research 28A (1981) 625. Range: salinity 0 to 40, 0 to
// 40 °C.
#pragma once

namespace ebbwatch {

/// The polynomials count in the scale of 1968; thermometers of today in that of 1990. Both in °C.
double to_t68(double t90_c);

/// kg/m³. @param salinity practical salinity, close to parts per thousand.
double water_density(double salinity, double t68_c);
/// J/(kg K).
double water_specific_heat(double salinity, double t68_c);

}  // namespace ebbwatch
