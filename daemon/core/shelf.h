// What people, or a controller by announcing a stop, have put away for a while (ISA-18.2 / IEC
// 62682: shelved, suppressed by design, out of service). Losses of it are decided and recorded all
// the same; they are told when it ends and contact is still gone.
#pragma once

#include <cstdint>

#include "core/ids.h"
#include "core/time.h"

namespace ebbwatch {

struct Shelf {
  enum class Kind : std::uint8_t {
    shelved,         ///< Always with an end.
    out_of_service,  ///< Until somebody puts it back in service.
  };
  Subject subject;  ///< A controller, tank or site.
  Kind kind = Kind::shelved;
  Instant until = Instant::never();  ///< never() only for out_of_service.
};

/// "shelved" or "out_of_service".
const char* word(Shelf::Kind kind);

}  // namespace ebbwatch
