// Checks of the settings as a whole: what no single value can show. Pure. Private to settings/.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "settings/addresses.h"
#include "settings/settings.h"

namespace ebbwatch {

/// One thing that is wrong between values; `key` is the path over all included files.
struct Finding {
  std::string key;
  std::string found, allowed, hint;
  /// Where the finding rests on a list being complete: "keyholders"; else empty.
  std::string list{};
};

/// Adds what is wrong with the form of the value at `path`, if anything is.
void note(const std::optional<FormFault>& fault, const std::string& path,
          std::vector<Finding>& out);
/// "sites[3]"
std::string indexed(const std::string& list, std::size_t index);

/// Where a path was given, for "already used in ebbwatch.yaml:12"; may return an empty text.
using PlaceText = std::function<std::string(const std::string& path)>;

/// All findings, in no particular order. Values that are empty because they could not be read are
/// passed over.
std::vector<Finding> check(const Settings& settings, const DetectionOverrides& top,
                           const PlaceText& place_text);

/// Identifiers used twice, and references to what does not exist.
void check_names(const Settings& settings, const PlaceText& place_text, std::vector<Finding>& out);
/// Quorums that cannot be reached, damping that can never act.
void check_detection(const Settings& settings, const DetectionOverrides& top,
                     std::vector<Finding>& out);
/// Forms of addresses and how the keys of a notifier go together.
void check_notifiers(const Settings& settings, std::vector<Finding>& out);
/// Keyholders' addresses; call lists that can reach whom they name.
void check_people(const Settings& settings, std::vector<Finding>& out);
/// Tanks: sizes and temperatures that contradict each other.
void check_tanks(const Settings& settings, std::vector<Finding>& out);
/// The watcher's references, witnesses and listeners.
void check_links(const Settings& settings, std::vector<Finding>& out);

}  // namespace ebbwatch
