// What the error numbers of a modem mean (3GPP TS 27.005 §3.2.5, TS 27.007 §9.2, causes of
// TS 24.011 Annex E-2 and TS 23.040 §9.2.3.22). Pure.
#pragma once

#include <string>

#include "ports/notifier.h"

namespace ebbwatch {

/// Of "+CMS ERROR: n" after a text. rejected_forever only where this text to this number will never
/// go; what is wrong with SIM card, modem or network may be put right, so it is retry_later; 332, a
/// network that did not answer in time, may have taken it: unknown.
Outcome::Kind cms_error_kind(int number);
/// "modem error 331: no network"
std::string cms_error_text(int number);
/// Of "+CME ERROR: n": "modem error 10: no SIM card".
std::string cme_error_text(int number);

}  // namespace ebbwatch
