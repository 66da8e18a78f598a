// Keeps secrets out of the files that a system writes when a program crashes.
#pragma once

namespace ebbwatch {

/// From now on no core file of this process is written, neither by the kernel (core(5)) nor by a
/// collector that the kernel pipes it to, which does not obey the resource limit alone; and no
/// other process of the same user can look into its memory (PR_SET_DUMPABLE, prctl(2)). Programs
/// that it starts write none either. Call it before any secret is read. In builds with sanitizers
/// only the limit is set, because the leak check looks into the own memory that way.
void forbid_core_dumps();

}  // namespace ebbwatch
