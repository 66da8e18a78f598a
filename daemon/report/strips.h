// Strip charts from what was recorded.
#pragma once

#include <string>
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

/// What the controllers of each of a site's tanks sent: the spacing of their check-ins, water and
/// oxygen, watts, with the times shaded in which the tank was lost or nobody watched. Reads the
/// stretch once; for where blocking is allowed. Errors: those of the store.
/// @param tank only this one; empty: all, in the order of the site.
Result<std::vector<charts::StripChart>> tank_strips(Store& store, const Settings& settings,
                                                    const SiteSettings& site,
                                                    const std::string& tank, Stretch stretch);

}  // namespace ebbwatch::report
