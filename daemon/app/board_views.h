// From the parts' states and the stored rows to what the board's pages show. Pure.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/status_view.h"
#include "board/view.h"
#include "notices/story.h"
#include "ports/store.h"

namespace ebbwatch {

struct BoardInput {
  StatusInput status;
  /// Who has taken a running outage on; empty: nobody.
  std::function<std::string(OutageId)> taken_by;
  /// The newest check-ins with readings of a tank's controllers.
  std::function<std::vector<LastHeard>(TankIndex)> last_heard;
};

Moment moment_of(WallTime time, WallTime now);
/// "mains power off (about 85 in 100)"; "not known". @param cause a word of FORMATS section 5.
std::string cause_text(const std::string& cause, double confidence);
/// What is wrong with the watcher itself, in sentences.
std::vector<std::string> remarks_of(const StatusInput& in);

/// Both clocks of a tank, the one to act on first.
ClocksView clocks_view(const BoardInput& in, TankIndex tank);
/// Of every tank that a running outage covers, the one with the least time first.
std::vector<TankClocks> clocks_of_outage(const BoardInput& in, OutageId outage);
/// The running outage that covers the tank; null when there is none.
const OutageRecord* outage_of(const Watch& watch, TankIndex tank);

PanelView panel_view(const BoardInput& in);
/// Empty when there is no such site.
std::optional<SiteView> site_view(const BoardInput& in, const std::string& id);

/// What the store knows of one outage.
struct OutageRows {
  std::vector<DecisionRow> decisions;  ///< Oldest first.
  std::vector<NoticeRow> notices;
  std::vector<AttemptRow> attempts;
  std::optional<CallRow> call;
};
Result<OutageRows> rows_of(Store& store, OutageId id);
/// Empty when nothing was ever decided of it.
std::optional<OutageView> outage_view(const BoardInput& in, OutageId id, const OutageRows& rows);

}  // namespace ebbwatch
