#include "sim/world.h"

#include <algorithm>

namespace ebbwatch::sim {
namespace {

constexpr Span second = Span::of_s(1);
constexpr Span healing = Span::of_min(30);
/// Everybody is heard before the first fault.
constexpr Span settling = Span::of_min(10);

}  // namespace

World::World(std::uint64_t seed) : dice_(seed) {
  settings_.watchers = 3 + pick(5);
  settings_.sites = 50;
  length_ = Span::of_min(100);
  healed_from_ = length_ - healing;
  loss_ = chance(0.5) ? 0 : 0.2 * std::uniform_real_distribution<>(0, 1)(dice_);
  repeat_ = chance(0.5) ? 0 : 0.2;
  delay_most_ = chance(0.3) ? Span::of_s(12) : Span::of_ms(400);
  outages_.resize(settings_.sites);
  links_down_.resize(settings_.watchers);
  down_.resize(settings_.watchers);
  calls_.assign(settings_.watchers, std::vector<Calling>(settings_.watchers));
  for (std::uint32_t i = 0; i < settings_.sites; ++i) phase_.push_back(Span::of_s(pick(60)));
  for (std::uint32_t i = 0; i < settings_.watchers; ++i) {
    const bool by_an_hour = chance(0.1);
    const Span error = by_an_hour ? Span::of_h(1) : Span::of_s(static_cast<int>(pick(240)) - 120);
    nodes_.emplace_back(settings_, i, error);
  }
  invent_faults();
}

Span World::chance_span(double least_s, double most_s) {
  return Span::of_seconds(std::uniform_real_distribution<>(least_s, most_s)(dice_));
}

void World::invent_faults() {
  const double last_s = healed_from_.seconds();
  const auto spell = [&](double least_s, double most_s) {
    const Instant from = Instant{} + settling + chance_span(0, last_s - settling.seconds());
    return Spell{from, std::min(from + chance_span(least_s, most_s), Instant{} + healed_from_)};
  };
  for (std::uint32_t n = pick(6); n > 0; --n) {
    const std::uint32_t site = pick(settings_.sites);
    if (outages_[site].empty()) outages_[site].push_back(spell(120, 3600));
  }
  for (std::uint32_t n = pick(4); n > 0; --n) {
    paths_.push_back({pick(settings_.sites), pick(settings_.watchers), spell(60, 3600)});
  }
  for (std::uint32_t n = pick(3); n > 0; --n) {
    const Spell when = spell(30, 2400);
    invent_partition(when.from, when.to);
  }
  for (std::uint32_t n = pick(3); n > 0; --n) {
    links_down_[pick(settings_.watchers)].push_back(spell(20, 1800));
  }
  for (std::uint32_t n = pick(3); n > 0; --n) {
    down_[pick(settings_.watchers)].push_back(spell(5, 1800));
  }
}

void World::invent_partition(Instant at, Instant to) {
  ++partitions_;
  if (chance(0.4)) {  // One way only.
    const std::uint32_t a = pick(settings_.watchers), b = pick(settings_.watchers);
    if (a != b) cuts_.push_back({a, b, {at, to}});
    return;
  }
  std::vector<bool> side;
  for (std::uint32_t i = 0; i < settings_.watchers; ++i) side.push_back(chance(0.5));
  for (std::uint32_t a = 0; a < settings_.watchers; ++a) {
    for (std::uint32_t b = 0; b < settings_.watchers; ++b) {
      if (side[a] != side[b]) cuts_.push_back({a, b, {at, to}});
    }
  }
}

bool World::link_works(std::uint32_t watcher, Instant at) const {
  const auto& spells = links_down_[watcher];
  return std::none_of(spells.begin(), spells.end(), [&](const Spell& s) { return s.holds(at); });
}

bool World::runs(std::uint32_t watcher, Instant at) const {
  const auto& spells = down_[watcher];
  return std::none_of(spells.begin(), spells.end(), [&](const Spell& s) { return s.holds(at); });
}

bool World::off(std::uint32_t site, Instant at) const {
  const auto& spells = outages_[site];
  return std::any_of(spells.begin(), spells.end(), [&](const Spell& s) { return s.holds(at); });
}

bool World::hears(std::uint32_t watcher, std::uint32_t site, Instant at) const {
  if (off(site, at) || !link_works(watcher, at)) return false;
  return std::none_of(paths_.begin(), paths_.end(), [&](const SitePath& path) {
    return path.site == site && path.watcher == watcher && path.when.holds(at);
  });
}

bool World::carries(std::uint32_t from, std::uint32_t to, Instant at) const {
  if (!link_works(from, at) || !link_works(to, at)) return false;
  return std::none_of(cuts_.begin(), cuts_.end(), [&](const Cut& cut) {
    return cut.from == from && cut.to == to && cut.when.holds(at);
  });
}

void World::fly(std::uint32_t from, std::uint32_t to, Instant now,
                std::function<void(Instant)> land) {
  if (!carries(from, to, now) || chance(loss_)) {
    ++lost_;
    return;
  }
  const int copies = chance(repeat_) ? 2 : 1;
  for (int i = 0; i < copies; ++i) {
    flights_.push({now + chance_span(0.01, delay_most_.seconds()), ++order_, land});
  }
}

void World::send_requests(std::uint32_t from, Instant now) {
  for (Exchange::Request& request : nodes_[from].take_requests(now)) {
    const auto to = request.to.value < from ? request.to.value : request.to.value + 1;
    Calling& call = calls_[from][to];
    call = {++order_, now + settings_.limit};
    const std::uint64_t number = call.number;
    // As bytes, so that the codec is a part of the world.
    fly(from, to, now, [this, from, to, number, text = encode(request.message)](Instant at) {
      if (!nodes_[to].runs()) return;
      const std::string answer = encode(nodes_[to].serve(from, decode(text).value(), at));
      fly(to, from, at, [this, from, to, number, answer](Instant then) {
        // An answer to a request that was given up, or a second one, is not read.
        if (!nodes_[from].runs() || calls_[from][to].number != number) return;
        calls_[from][to].number = 0;
        nodes_[from].answered(to, decode(answer).value(), then);
      });
    });
  }
}

void World::step(Instant now) {
  while (!flights_.empty() && flights_.top().at <= now) {
    const Flight flight = flights_.top();
    flights_.pop();
    flight.land(now);
  }
  const std::int64_t t = now.us / second.us;
  for (std::uint32_t w = 0; w < nodes_.size(); ++w) {
    Node& node = nodes_[w];
    const bool up = runs(w, now);
    if (up && !node.runs()) node.start(now);
    if (!up && node.runs()) {
      node.crash();
      for (Calling& call : calls_[w]) call.number = 0;
    }
    if (!up) continue;
    for (std::uint32_t site = 0; site < settings_.sites; ++site) {
      const bool due = (t + phase_[site].us / second.us) % (settings_.interval.us / second.us) == 0;
      if (due && hears(w, site, now)) node.hear(site, now);
    }
    if (t % 30 == w) node.link_checked(link_works(w, now), now);
    for (std::uint32_t to = 0; to < nodes_.size(); ++to) {
      Calling& call = calls_[w][to];
      if (call.number == 0 || now < call.until) continue;
      call.number = 0;
      node.failed(to, now);
    }
    node.tick(link_works(w, now), now);
    send_requests(w, now);
  }
}

Findings World::run() {
  for (Instant now{}; now < Instant{} + length_; now = now + second) step(now);
  Findings out;
  out.lost_messages = lost_;
  out.partitions = partitions_;
  for (const auto& spells : down_) out.crashes += static_cast<std::uint32_t>(spells.size());
  judge(out);
  return out;
}

}  // namespace ebbwatch::sim
