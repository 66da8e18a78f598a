// One file for each subcommand of ebbwatch-bench.
#pragma once

namespace CLI {
class App;
}

namespace ebbwatch::bench {

/// Each adds its subcommand. `status` (kept by reference) becomes 1 when something could not be
/// done or, with --check, a goal is missed.
void add_causes(CLI::App& app, int& status);
void add_core(CLI::App& app);
void add_detectors(CLI::App& app, int& status);
void add_witnesses(CLI::App& app, int& status);

}  // namespace ebbwatch::bench
