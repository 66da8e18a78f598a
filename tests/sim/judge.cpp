// What must hold in every world, told from what was done to it.
#include <algorithm>
#include <set>

#include "sim/world.h"

namespace ebbwatch::sim {
namespace {

/// Longest from the true end to the verdict of a single watcher: on-delay with the patience that
/// the core allows itself, a check-in, and the next proof of the own link.
constexpr Span verdict_within = Span::of_s(300 * 17 / 10 + 2 * 60 + 60);
constexpr Span slack = Span::of_s(60);

std::string at_text(Instant at) {
  return std::to_string(at.us / 1'000'000) + " s";
}

}  // namespace

bool World::in_touch(std::uint32_t a, std::uint32_t b, Instant from, Instant to) const {
  if (loss_ > 0 || delay_most_ > Span::of_s(1)) return false;
  return std::none_of(cuts_.begin(), cuts_.end(), [&](const Cut& cut) {
    const bool between = (cut.from == a && cut.to == b) || (cut.from == b && cut.to == a);
    return between && cut.when.meets(from, to);
  });
}

bool World::sound(std::uint32_t watcher, Instant from, Instant to) const {
  const auto meets = [&](const Spell& s) { return s.meets(from, to); };
  return std::none_of(links_down_[watcher].begin(), links_down_[watcher].end(), meets) &&
         std::none_of(down_[watcher].begin(), down_[watcher].end(), meets);
}

bool World::hears_all_along(std::uint32_t watcher, std::uint32_t site, Instant from,
                            Instant to) const {
  const auto meets = [&](const Spell& s) { return s.meets(from, to); };
  if (std::any_of(outages_[site].begin(), outages_[site].end(), meets)) return false;
  return std::none_of(paths_.begin(), paths_.end(), [&](const SitePath& path) {
    return path.site == site && path.watcher == watcher && path.when.meets(from, to);
  });
}

void World::judge_loss(std::uint32_t watcher, const Loss& loss, Findings& out) const {
  const Instant at = loss.confirmed;
  const std::string what = watcher_name(watcher) + " confirmed the loss of site " +
                           std::to_string(loss.site) + " at " + at_text(at);
  // Its own link was down long enough to be known, and nothing came in: it must not judge others.
  const bool cut_off =
      std::any_of(links_down_[watcher].begin(), links_down_[watcher].end(),
                  [&](const Spell& s) { return s.from + Span::of_s(45) < at && at < s.to; });
  if (cut_off) out.broken.push_back(what + " while it was cut off");
  if (loss.site >= settings_.sites) return;
  std::uint32_t voters = 1;
  std::uint32_t hear = 0;
  for (std::uint32_t other = 0; other < settings_.watchers; ++other) {
    const Instant from = at - Span::of_min(10);
    const bool asked =
        other != watcher && sound(other, from, at) && in_touch(watcher, other, from, at);
    if (other != watcher) ++voters;
    if (asked && hears_all_along(other, loss.site, from, at)) ++hear;
  }
  if (hear * 2 >= voters) {
    out.broken.push_back(what + " though " + std::to_string(hear) + " of " +
                         std::to_string(voters) + " watchers heard it");
  }
}

void World::judge_outage(std::uint32_t site, Spell outage, Findings& out) const {
  ++out.outages;
  const Span deputies = settings_.deputy_after * (settings_.watchers - 1);
  const Instant due = outage.from + verdict_within + settings_.limit + deputies + slack;
  bool must = false;
  std::set<std::uint32_t> tellers;
  std::set<std::string> names;
  Instant first = Instant::never();
  for (std::uint32_t w = 0; w < settings_.watchers; ++w) {
    const Instant before = outage.from - Span::of_min(5);
    const bool whole = sound(w, before, due) && hears_all_along(w, site, before, outage.from);
    must = must || (whole && due < outage.to);
    for (const Loss& loss : nodes_[w].losses()) {
      // One that was told before and had not ended stands for this one as well.
      if (loss.site != site || loss.told.is_never() || loss.closed < outage.from ||
          loss.told > outage.to + Span::of_min(5)) {
        continue;
      }
      tellers.insert(w);
      names.insert(loss.name);
      first = std::min(first, loss.told);
    }
  }
  const std::string what =
      "the outage of site " + std::to_string(site) + " from " + at_text(outage.from);
  if (must && first > due) {
    out.broken.push_back(
        what + (first.is_never() ? " was not told" : " was told only at " + at_text(first)));
  }
  out.told += must && first <= due ? 1 : 0;
  if (tellers.size() < 2) return;
  ++out.told_twice;
  bool apart = false;
  bool split_only = true;
  for (const std::uint32_t a : tellers) {
    for (const std::uint32_t b : tellers) {
      if (a == b) continue;
      const Instant from = std::min(outage.from, first) - Span::of_min(2);
      const bool together =
          in_touch(a, b, from, outage.to) && sound(a, from, outage.to) && sound(b, from, outage.to);
      apart = apart || !together;
      split_only = split_only && in_touch(a, b, Instant{}, outage.from) &&
                   sound(a, Instant{}, outage.to) && sound(b, Instant{}, outage.to);
    }
  }
  if (!apart) out.broken.push_back(what + " was told twice though nothing parted the tellers");
  if (split_only && names.size() > 1) {
    out.broken.push_back(what + " was told under " + std::to_string(names.size()) + " names");
  }
}

void World::judge_end(Findings& out) const {
  for (std::uint32_t w = 0; w < settings_.watchers; ++w) {
    const std::string who = watcher_name(w);
    if (!nodes_[w].runs()) {
      out.broken.push_back(who + " does not run at the end");
      continue;
    }
    if (nodes_[w].outages_running() > 0) {
      out.broken.push_back(who + " still has outages after all was healed");
    }
    for (std::uint32_t site = 0; site < settings_.sites + settings_.watchers - 1; ++site) {
      if (nodes_[w].contact(site) == Contact::present) continue;
      // With lost or slow messages a sign of life may just be late.
      if (site >= settings_.sites && !in_touch(w, w, Instant{}, Instant{})) continue;
      out.broken.push_back(who + " does not hear subject " + std::to_string(site) +
                           " after all was healed");
    }
  }
}

void World::judge(Findings& out) const {
  for (std::uint32_t w = 0; w < settings_.watchers; ++w) {
    for (const Loss& loss : nodes_[w].losses()) judge_loss(w, loss, out);
  }
  for (std::uint32_t site = 0; site < settings_.sites; ++site) {
    for (const Spell& outage : outages_[site]) judge_outage(site, outage, out);
  }
  for (const SitePath& path : paths_) {
    bool told = false;
    for (const Node& node : nodes_) {
      for (const Loss& loss : node.losses()) told = told || loss.site == path.site;
    }
    out.vouched += told ? 0 : 1;
  }
  judge_end(out);
}

}  // namespace ebbwatch::sim
