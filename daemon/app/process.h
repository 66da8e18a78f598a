// What a process of ours is before it does anything.
#pragma once

namespace ebbwatch {

/// Files for the owner only, no core files, as many connections as the system allows, no end by a
/// closed pipe, and a log.
void prepare_process();

}  // namespace ebbwatch
