// The tables of every key that a configuration file may hold. Private to settings/.
#pragma once

#include <string>
#include <vector>

#include "settings/reader.h"
#include "settings/settings.h"

namespace ebbwatch {

/// What the files say, before levels of detection are put over each other.
struct Draft {
  std::vector<std::string> include;
  WatcherSettings watcher;
  DetectionOverrides detection;
  std::vector<SiteSettings> sites;
  std::vector<WitnessSettings> witnesses;
  std::vector<NotifierSettings> notifiers;
  std::vector<HoursSettings> hours;
  std::vector<KeyholderSettings> keyholders;
  std::vector<CallListSettings> call_lists;
  ListenSettings listen;
  KeepSettings keep;
};

/// The whole of a file; `include` only where `is_main`.
const Keys<Draft>& file_keys(bool is_main);

const Keys<WatcherSettings>& watcher_keys();
const Keys<DetectionOverrides>& detection_keys();
const Keys<SiteSettings>& site_keys();
const Keys<WitnessSettings>& witness_keys();
/// Limits by the names of readings.
bool reading_limits(Reader& reader, const Cursor& at, std::vector<ReadingSettings>& out);
bool read_notifier(Reader& reader, const Cursor& at, NotifierSettings& out);
const Keys<HoursSettings>& hours_keys();
const Keys<KeyholderSettings>& keyholder_keys();
const Keys<CallListSettings>& call_list_keys();
const Keys<ListenSettings>& listen_keys();
const Keys<KeepSettings>& keep_keys();

}  // namespace ebbwatch
