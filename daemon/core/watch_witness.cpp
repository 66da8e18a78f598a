// Asking the witnesses before a silence is called a loss: when, about whom, and how long to wait.
#include <algorithm>

#include "core/watch_impl.h"

namespace ebbwatch {

void Watch::Impl::take_questions(std::vector<ControllerIndex>& questions) {
  questions.insert(questions.end(), questions_.begin(), questions_.end());
  questions_.clear();
}

void Watch::Impl::ask_one(std::uint32_t index, Instant at) {
  Asking& asking = controllers_[index].asking;
  if (asking.first.is_never()) asking.first = at;
  asking.last = at;
  asking.heard_out = false;
  questions_.push_back(ControllerIndex{index});
}

void Watch::Impl::ask_of_site(SiteIndex site, Instant at) {
  for (const TankIndex tank : plan_.sites[site.value].tanks) {
    for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
      const Controller& it = controllers_[member.value];
      const bool fresh = !it.asking.last.is_never() && at - it.asking.last < plan_.witness_limit;
      if (it.contact == Contact::overdue && !fresh) ask_one(member.value, at);
    }
  }
}

/// All sites that may be lost together with this one.
template <class Act>
void Watch::Impl::for_sites_around(SiteIndex own, const Act& act) {
  const SitePlan& site = plan_.sites[own.value];
  act(own);
  if (!site.area.is_none()) {
    for (const SiteIndex other : plan_.areas[site.area.value].sites) act(other);
  }
  if (!site.provider.is_none()) {
    for (const SiteIndex other : plan_.providers[site.provider.value].sites) act(other);
  }
}

/// About this one and all that may be lost together with it: one question for many.
void Watch::Impl::ask_about(std::uint32_t index, Instant at) {
  for_sites_around(site_of(index), [&](SiteIndex site) { ask_of_site(site, at); });
}

/// What the answers say by now of everybody who may be lost together with this one.
void Watch::Impl::weigh_around(std::uint32_t index, Instant at) {
  for_sites_around(site_of(index), [&](SiteIndex site) {
    for (const TankIndex tank : plan_.sites[site.value].tanks) {
      for (const ControllerIndex member : plan_.tanks[tank.value].controllers) {
        Controller& it = controllers_[member.value];
        if (it.contact != Contact::overdue || it.asking.last.is_never()) continue;
        it.asking.vouched = !witnesses_agree(member.value, at);
      }
    }
  });
}

/// Whether its timer has come to ask, or too early, and not for a verdict.
bool Watch::Impl::not_yet_due(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  if (it.asking.waits) {
    it.asking.waited_out = true;
    judge_heard_out(index, at);
    return true;
  }
  if (it.asking.last.is_never() || at - it.asking.last > plan_.witness_limit) ask_about(index, at);
  if (it.ripe) return false;
  const Instant due = confirm_at(it, rules(index));
  if (due <= at) return false;
  wheel_.arm(index, due);
  return true;
}

/// Whether a verdict need not wait for the witnesses (any more); asks them when nobody has.
bool Watch::Impl::heard_out(std::uint32_t index, Instant at) {
  Asking& asking = controllers_[index].asking;
  if (asking.last.is_never()) ask_about(index, at);
  if (asking.heard_out || asking.waited_out) return true;
  const Instant until = asking.last + plan_.witness_limit;
  if (at >= until) {
    asking.waited_out = true;
    return true;
  }
  asking.waits = true;
  wheel_.arm(index, until);
  return false;
}

/// This watcher hears it only through others, and none of them answers: the silence is theirs, and
/// their own loss is told.
bool Watch::Impl::lost_its_relay(std::uint32_t index, Instant at) const {
  const Controller& it = controllers_[index];
  const Span lately = it.arrival.interval() * 2 + it.arrival.margin();
  const bool direct = !it.last_direct.is_never() && it.last_heard - it.last_direct <= lately;
  return !direct && witnesses_answer(index, at).asked == 0;
}

/// They heard it before, and now none of them answers: the fault may be this watcher's own link,
/// which must be proven once more.
bool Watch::Impl::deserted(std::uint32_t index, Instant at) const {
  const Asking& asking = controllers_[index].asking;
  if (!asking.vouched_before || path_of(index) == Path::local || !trust_.judges_link())
    return false;
  return witnesses_answer(index, at).asked == 0 && trust_.proof(Path::remote) < asking.last;
}

void Watch::Impl::weigh(std::uint32_t index, Instant at) {
  if (index >= count_) return;
  Controller& it = controllers_[index];
  if (it.contact != Contact::overdue || it.asking.last.is_never()) return;
  it.asking.heard_out = true;
  it.asking.vouched = !witnesses_agree(index, at);
  if (it.asking.waits) judge_heard_out(index, at);
}

void Watch::Impl::judge_heard_out(std::uint32_t index, Instant at) {
  Controller& it = controllers_[index];
  it.asking.waits = false;
  arm(index);
  const bool deaf =
      path_of(index) == Path::remote && trust_.judges_link() && !trust_.link_trusted();
  if (deaf) {
    put_up(index, at);
  } else {
    judge(index, at);
  }
}

}  // namespace ebbwatch
