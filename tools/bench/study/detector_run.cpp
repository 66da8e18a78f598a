#include "study/detector_run.h"

#include <limits>

namespace ebbwatch::bench {

DetectorRun::DetectorRun(const WatchPlan& plan, const TruthTable& truth, const Setting& setting,
                         bool holds)
    : holds_(holds), judge_(truth, plan.controllers.size()) {
  for (const ControllerPlan& controller : plan.controllers) {
    Subject subject;
    subject.detector = setting.make(controller.interval.seconds());
    subjects_.push_back(std::move(subject));
  }
}

void DetectorRun::add(const std::vector<Observation>& observations) {
  for (const Observation& observation : observations) {
    if (observation.kind == Observation::Kind::heard)
      hear(observation);
    else if (holds_)
      follow_link(observation);
  }
}

void DetectorRun::hear(const Observation& observation) {
  Subject& subject = subjects_[observation.controller];
  // While the link is down nothing falls due; what was due before it is raised already.
  const bool fell_due = subject.last_s >= 0 && subject.raised_s < 0 && !link_down_ &&
                        subject.due_s < observation.at_s;
  if (fell_due) subject.raised_s = subject.due_s;
  Heard heard = observation.heard;
  heard.gap_is_odd = subject.raised_s >= 0 || subject.was_held;
  if (subject.raised_s >= 0) {
    judge_.add({observation.controller, subject.raised_s, subject.last_s, heard.at_s});
    subject.raised_s = -1;
  }
  subject.detector->heard(heard);
  subject.last_s = heard.at_s;
  subject.due_s = subject.detector->suspect_at_s();
  // A detector whose forecast lies in the past suspects at once, but not before it heard.
  if (subject.due_s < heard.at_s) subject.due_s = heard.at_s;
  subject.was_held = false;
}

void DetectorRun::raise_due(double until_s) {
  for (Subject& subject : subjects_) {
    const bool is_due = subject.last_s >= 0 && subject.raised_s < 0 && subject.due_s < until_s;
    if (is_due) subject.raised_s = subject.due_s;
  }
}

void DetectorRun::follow_link(const Observation& observation) {
  const bool is_down = observation.kind == Observation::Kind::link_down;
  const bool was_absent = observation.kind == Observation::Kind::started;
  if (is_down || was_absent || link_down_) {
    // What fell due before the failure showed has been told; the rest waits as long as it lasts.
    if (!link_down_ && !was_absent) raise_due(observation.at_s);
    if (was_absent) raise_due(link_seen_s_);
    for (Subject& subject : subjects_) {
      const double from_s = std::max(link_seen_s_, subject.last_s);
      subject.due_s += observation.at_s - from_s;
      subject.was_held = true;
    }
  }
  link_down_ = is_down;
  link_seen_s_ = observation.at_s;
}

Figures DetectorRun::finish(double end_s) {
  if (!link_down_) raise_due(end_s);
  for (std::uint32_t i = 0; i < subjects_.size(); ++i) {
    const Subject& subject = subjects_[i];
    if (subject.raised_s < 0) continue;
    judge_.add({i, subject.raised_s, subject.last_s, std::numeric_limits<double>::infinity()});
  }
  return judge_.figures();
}

}  // namespace ebbwatch::bench
