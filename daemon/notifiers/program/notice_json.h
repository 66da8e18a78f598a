// What a program of the owner's reads on its standard input. Pure.
#pragma once

#include <string>
#include <vector>

#include "ports/notifier.h"

namespace ebbwatch {

/// One JSON object and a line end, UTF-8. Later versions may add members.
///
/// | member | meaning |
/// | --- | --- |
/// | `notice` | identifier of this notice, the same at every attempt: drop what you have seen |
/// | `attempt` | number, from 1 |
/// | `type` | `ebbwatch.loss`, `ebbwatch.recovery`, `ebbwatch.cause_revised`, `ebbwatch.drill`, … |
/// | `outage` | links loss, revisions and recovery |
/// | `first_notice` | the notice that this one continues; left out when it is the first |
/// | `subject` | identifier of what it is about |
/// | `decided_at` | RFC 3339 |
/// | `to` | object: `keyholder` (identifier), `name`, `email`, `phone`; the latter may be empty |
/// | `title` | one line that carries the news |
/// | `text` | the whole notice, lines ended by LF |
/// | `short_text` | at most 160 characters of the GSM 7-bit alphabet |
/// | `data` | the decision: what a webhook gets as `data`; left out when there is none |
std::string notice_json(const Message& message);

/// The whole environment of the program: PATH, LANG=C.UTF-8, and EBBWATCH_NOTICE, _ATTEMPT, _TYPE,
/// _OUTAGE, _SUBJECT, _KEYHOLDER, _NAME, _EMAIL, _PHONE, _TITLE and _SHORT_TEXT, which mean what
/// the members of the same names mean. Each element is NAME=value without NUL.
std::vector<std::string> program_environment(const Message& message);

}  // namespace ebbwatch
