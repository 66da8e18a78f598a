#include "core/contact.h"

#include <algorithm>
#include <cmath>

namespace ebbwatch {

Onset onset_of(const Controller& controller) {
  const Arrival& arrival = controller.arrival;
  return {controller.last_heard, arrival.expected() + arrival.margin() + arrival.interval()};
}

std::int64_t missed_by(const Controller& controller, Instant at) {
  const Arrival& arrival = controller.arrival;
  const Span over = at - (arrival.expected() + controller.blind + arrival.margin());
  return over.us < 0 ? 0 : 1 + over.us / arrival.interval().us;
}

Instant missed_at(const Controller& controller, std::int64_t count) {
  const Arrival& arrival = controller.arrival;
  return arrival.expected() + controller.blind + arrival.margin() +
         arrival.interval() * (count - 1);
}

Instant confirm_at(const Controller& controller, const Detection& rules) {
  if (controller.planned) return std::max(missed_at(controller, 1), controller.not_before);
  const Instant delayed = controller.arrival.expected() + controller.blind + rules.on_delay;
  const Instant missed = missed_at(controller, std::max<std::int64_t>(rules.min_missed, 1));
  return std::max({delayed, missed, controller.not_before});
}

Instant break_at(const Controller& controller) {
  const Arrival& arrival = controller.arrival;
  return arrival.expected() + arrival.margin() + arrival.interval();
}

double silence_nats(const Controller& controller, Instant at) {
  return static_cast<double>(missed_by(controller, at)) *
         -std::log(controller.arrival.loss_chance());
}

void leave_out(Controller& controller, const Detection& rules, Instant from, Instant to) {
  Arrival& arrival = controller.arrival;
  const Instant late_at = arrival.expected() + arrival.margin();
  const Instant as_if_heard_now = to + arrival.interval();
  const bool late_before = late_at <= from;
  switch (controller.contact) {
    case Contact::enrolled:
    case Contact::silent:
      return;
    case Contact::present:
    case Contact::returning:
      if (arrival.expected() <= to) {
        arrival.expect_at(as_if_heard_now);
        controller.fresh_phase = true;
        controller.planned = false;  // It may have come back unheard: the usual rules again.
      }
      if (controller.contact == Contact::returning) {
        controller.back.unbroken_since =
            controller.back.unbroken_since + (to - std::max(from, controller.back.unbroken_since));
      }
      return;
    case Contact::overdue:
      break;
  }
  controller.ripe = false;
  controller.early = false;
  controller.planned = false;
  controller.fresh_phase = true;
  if (!late_before) {
    // It became late only while nobody listened.
    controller.contact = Contact::present;
    controller.contact_since = to;
    controller.blind = Span{};
    arrival.expect_at(as_if_heard_now);
    return;
  }
  controller.blind += to - from;
  const std::int64_t chances = rules.min_missed >= 2 ? 2 : 1;
  controller.not_before = to + arrival.interval() * chances + arrival.margin();
}

}  // namespace ebbwatch
