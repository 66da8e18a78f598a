// A notice as a CloudEvents 1.0 event in structured JSON mode. Pure.
#pragma once

#include <string>

#include "ports/notifier.h"

namespace ebbwatch {

inline constexpr const char* cloud_event_media_type = "application/cloudevents+json";

/// `id` is the notice (the same at every attempt), `source` "urn:ebbwatch:WATCHER", `time` when it
/// was decided, `data` the message's data_json as it is. @pre data_json is JSON, or empty: no data.
std::string cloud_event(const Message& message, const std::string& watcher);

}  // namespace ebbwatch
