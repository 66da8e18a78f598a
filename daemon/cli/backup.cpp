// backup, restore, export: the record leaves the machine, and comes back.
#include "store/backup.h"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <memory>

#include "cli/context.h"
#include "store/entries.h"
#include "store/open_database.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

using File = std::shared_ptr<std::string>;

void print_contents(const BackupContents& contents) {
  std::printf("%ju bytes:\n", contents.bytes);
  for (const auto& [what, count] : contents.counts) {
    std::printf("  %10lld %s\n", static_cast<long long>(count), what.c_str());
  }
  if (contents.newest) {
    std::printf("The newest line is of %s.\n", to_rfc3339(*contents.newest).c_str());
  }
}

void backup(Context& context, const std::string& file) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto done = write_backup(settings.watcher.state_dir, file);
  if (!done) return complain(context, done.error().text);
  std::printf("%s holds the whole record in ", file.c_str());
  print_contents(done.value());
  std::printf(
      "It holds what makes keys and passwords genuine: keep it where only you can read it.\n"
      "The configuration and its secret files are not in it.\n");
}

void restore(Context& context, const std::string& file) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto done = restore_backup(settings.watcher.state_dir, file, wall_now());
  if (!done) return complain(context, done.error().text);
  std::printf("The database is that of %s now, in ", file.c_str());
  print_contents(done.value().contents);
  if (!done.value().put_aside.empty()) {
    std::printf("The former one was put aside as %s.\n", done.value().put_aside.c_str());
  }
  std::printf(
      "Keys, passwords and read-only addresses are those of the backup: what was made or revoked\n"
      "after it must be made or revoked again. Start ebbwatchd now.\n");
}

void write_entries(std::ostream& out, const std::vector<EntryGroup>& groups, WallTime now) {
  out << "{\n\"made_at\": \"" << to_rfc3339(now) << "\"";
  for (const auto& group : groups) {
    out << ",\n\"" << group.name << "\": [";
    const char* before = "\n  ";
    for (const auto& object : group.objects) {
      out << before << object;
      before = ",\n  ";
    }
    out << (group.objects.empty() ? "]" : "\n]");
  }
  out << "\n}\n";
}

void export_entries(Context& context, const std::string& file) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const auto groups = people_entries(settings.watcher.state_dir);
  if (!groups) return complain(context, groups.error().text);
  if (file.empty()) return write_entries(std::cout, groups.value(), wall_now());
  const auto made = make_private_file(file);
  if (!made) return complain(context, made.error().text);
  if (!made.value()) {
    return complain(context, file + " is there already and was left as it is. Name another one.");
  }
  std::ofstream out(file);
  write_entries(out, groups.value(), wall_now());
  out.flush();
  if (!out) return complain(context, file + " could not be written. Is the disk full?");
}

CLI::App* add(CLI::App& app, Context& context, const char* name, const char* what,
              void (*run)(Context&, const std::string&), File& file) {
  auto* command = app.add_subcommand(name, what);
  file = std::make_shared<std::string>();
  add_config_option(*command, context);
  command->callback([&context, run, file] { run(context, *file); });
  return command;
}

}  // namespace

void add_backup(CLI::App& app, Context& context) {
  File file;
  auto* command = add(app, context, "backup",
                      "Copy the whole record to one file, while the daemon runs", backup, file);
  command->add_option("file", *file, "A new file; one that is there is not overwritten")
      ->required()
      ->type_name("FILE");
  command->footer(
      "The copy is of one moment, checked, and readable by its owner only. Copying "
      "ebbwatch.sqlite3\n"
      "by hand instead leaves out what is still in its write-ahead log.\n"
      "Example: ebbwatch backup /media/stick/ebbwatch-2026-11.sqlite3");
}

void add_restore(CLI::App& app, Context& context) {
  File file;
  auto* command =
      add(app, context, "restore", "Put a backup in the place of the database", restore, file);
  command->add_option("file", *file, "What 'ebbwatch backup' wrote")->required()->type_name("FILE");
  command->footer(
      "The daemon must be stopped. The backup is checked first, and the present database is put\n"
      "aside, never deleted.\n"
      "Example: systemctl stop ebbwatch; sudo -u ebbwatch ebbwatch restore /media/stick/b.sqlite3");
}

void add_export(CLI::App& app, Context& context) {
  File file;
  auto* command =
      add(app, context, "export", "Everything that people entered, as JSON", export_entries, file);
  command->add_option("file", *file, "A new file; without it to standard output")
      ->type_name("FILE");
  command->footer(
      "Notes, marks, acknowledgements, shelves, stand-ins, drills; and for which controllers and\n"
      "roles there are keys and passwords, but not these themselves (a backup has them).\n"
      "Example: ebbwatch export entries.json");
}

}  // namespace ebbwatch
