// Dissolved oxygen in a tank whose pumps stand still: what the water can hold, what is used, what
// comes in through the surface, and how long that lasts.
#pragma once

#include "timeleft/tank_facts.h"

namespace ebbwatch {

/// What water in contact with moist air holds, mg/L. Benson and Krause 1980 and 1984 as in the USGS
/// Office of Water Quality Technical Memorandum 2011.03 (the equations of its tables).
/// @param t_c 0 to 40 °C @param salinity 0 to 40 @param pressure_atm at the place, 0.5 to 1.1 atm.
double oxygen_saturation(double t_c, double salinity, double pressure_atm);
/// Air pressure at a height above the sea, atm (standard atmosphere).
double pressure_at(double altitude_m);

/// Resting use of one fish, mg/h. Clarke and Johnston, Journal of Animal Ecology 68 (1999) 893:
/// over 69 species from 0 to 30 °C, scaled by mass^exponent.
/// @param exponent 0.79 over all fish; 0.633 of coral-reef fish (Journal of Experimental Biology
///        210, 1673).
double resting_fish_use_mg_h(double mass_g, double t_c, double exponent);

/// Schmidt number of oxygen in water of 0 to 40 °C (Wanninkhof 2014).
double oxygen_schmidt_number(double t_c, bool sea_water);
/// Transfer through a smooth still surface, m/h. @param k600_cm_h 1.5 (0.5 to 3) indoors with the
/// pumps off (Crusius and Wanninkhof 2003; Cole and Caraco 1998).
double surface_transfer_m_h(double k600_cm_h, double t_c, bool sea_water);

/// dC/dt = reaeration (saturation - C) - use.
struct OxygenBalance {
  double start_mg_l = 0;
  double saturation_mg_l = 0;
  double use_mg_l_h = 0;
  double reaeration_per_h = 0;
};
/// Hours until the oxygen is down to `limit_mg_l`; 0 when it is there, never_h when what comes in
/// through the surface is enough.
double hours_to_oxygen(const OxygenBalance& balance, double limit_mg_l);

/// Which fish are meant where nothing is said of them, and what they bear.
struct LivestockDefaults {
  double fish_mass_g;  ///< Of one typical fish.
  double exponent;     ///< For resting_fish_use_mg_h().
  double salinity;     ///< Where none is given.
  SafeBand band;
  double safe_oxygen_mg_l;
};
const LivestockDefaults& defaults_of(Livestock livestock);

/// Grams of fish for each litre, and of a reef m² of coral tissue for each litre.
double fish_g_per_l(Stock stock);
double coral_m2_per_l(Stock stock);

/// What lives in a tank, in kinds of use.
struct Consumers {
  double fish_mass_g = 0;  ///< All together.
  double typical_fish_g = 1.5;
  double exponent = 0.79;
  double coral_m2 = 0;
};
/// All use together, mg/h: active fish (twice resting), corals in the dark, and 30 % more for
/// bacteria, substrate and waste.
double oxygen_use_mg_h(const Consumers& consumers, double t_c);

}  // namespace ebbwatch
