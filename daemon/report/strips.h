// Strip charts from what was recorded.
#pragma once

#include <vector>

#include "charts/strip_chart.h"
#include "ports/store.h"
#include "report/availability.h"
#include "report/record.h"
#include "settings/settings.h"

namespace ebbwatch::report {

/// One low strip for each tank over the record's whole time.
/// @param times tank_times(record).
charts::StripChart contact_strip(const Record& record, const std::vector<TankTime>& times);

/// What one tank's controllers sent: the spacing of their check-ins, water and oxygen, watts, with
/// the times shaded in which the tank was lost or nobody watched. Reads; for where blocking is
/// allowed. Errors: those of the store.
Result<charts::StripChart> tank_strip(Store& store, const Settings& settings,
                                      const SiteSettings& site, const TankSettings& tank,
                                      Stretch stretch);

}  // namespace ebbwatch::report
