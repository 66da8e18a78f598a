// One tank's strip chart on the command line.
#pragma once

#include "cli/context.h"
#include "ports/store.h"

namespace ebbwatch {

/// Prints the strip of the tank query.subject as SVG; the last day unless the query says otherwise.
void print_chart(Context& context, Store& store, const Settings& settings,
                 const HistoryQuery& query);

}  // namespace ebbwatch
