#include "witness/telling.h"

#include <algorithm>
#include <charconv>
#include <utility>

namespace ebbwatch {
namespace {

/// So long an outage that is over is still spoken of, so that everybody learns its end.
constexpr Span closed_kept = Span::of_min(10);
/// What a partner said is no news any more: it would have said it again.
constexpr Span word_good_for = Span::of_min(2);
/// Two reports of one acknowledgement differ by the way they travelled.
constexpr Span same_moment = Span::of_s(30);
constexpr std::size_t place_chars_max = 50;

std::string name_of(const std::string& place, std::uint32_t number) {
  return place.substr(0, place_chars_max) + "-" + std::to_string(number);
}

std::uint32_t number_in(const std::string& name) {
  std::uint32_t number = 0;
  const std::size_t dash = name.rfind('-');
  if (dash == name.npos) return 0;
  std::from_chars(name.data() + dash + 1, name.data() + name.size(), number);
  return std::min(number, 1'000'000'000U);
}

}  // namespace

TellingOrder::TellingOrder(std::string own_name, Span deputy_after)
    : own_(std::move(own_name)), deputy_after_(deputy_after) {}

std::size_t TellingOrder::rank(const Shared& shared, const std::string& watcher) const {
  const auto& order = shared.place.order;
  return static_cast<std::size_t>(std::find(order.begin(), order.end(), watcher) - order.begin());
}

/// Watchers before this one in the order that are alive.
std::size_t TellingOrder::ahead(const Shared& shared) const {
  std::size_t count = 0;
  for (const std::string& one : shared.place.order) {
    if (one == own_) break;
    const auto found = alive_.find(one);
    if (found != alive_.end() && found->second) ++count;
  }
  return count;
}

void TellingOrder::number_of(OutageId outage, Shared& shared, std::uint32_t number) {
  shared.number = number;
  numbers_.of_outage[outage] = number;
  std::uint32_t& highest = numbers_.of_place[shared.place.id];
  highest = std::max(highest, number);
}

void TellingOrder::lost(OutageId outage, const Place& place, Instant since, Instant now,
                        bool told) {
  Shared& shared = shared_[outage];
  shared = {};
  shared.place = place;
  shared.since = since;
  const auto known = numbers_.of_outage.find(outage);
  std::uint32_t number = numbers_.of_place[place.id] + 1;
  const auto& words = told_[place.id];
  const auto running = [&](const Told& word) {
    return !word.view.closed && now - word.at < word_good_for;
  };
  // One that a partner has named already keeps that name.
  for (const auto& [from, word] : words) {
    if (running(word)) number = number_in(word.view.name);
  }
  if (known != numbers_.of_outage.end()) number = known->second;
  number_of(outage, shared, number);
  if (told) {
    shared.role = Role::tells;
    return;
  }
  for (const auto& [from, word] : words) {
    if (running(word)) take_over(outage, shared, from, word.view, now);
  }
  if (shared.role == Role::waits) decide(outage, shared, now);
}

void TellingOrder::decide(OutageId outage, Shared& shared, Instant now) {
  const std::size_t before = ahead(shared);
  if (before == 0) {
    tell(outage, shared);
    return;
  }
  shared.role = Role::waits;
  shared.decide_at =
      std::min(shared.decide_at, now + deputy_after_ * static_cast<std::int64_t>(before));
}

void TellingOrder::tell(OutageId outage, Shared& shared) {
  shared.role = Role::tells;
  shared.teller.clear();
  shared.decide_at = Instant::never();
  TellingAct act;
  act.kind = TellingAct::Kind::tell;
  act.outage = outage;
  act.delivered.assign(shared.elsewhere.begin(), shared.elsewhere.end());
  acts_.push_back(std::move(act));
  if (shared.taken_by.empty()) return;
  TellingAct taken;
  taken.kind = TellingAct::Kind::acknowledge;
  taken.outage = outage;
  taken.by = shared.taken_by;
  acts_.push_back(std::move(taken));
}

void TellingOrder::closed(OutageId outage, Instant now) {
  const auto found = shared_.find(outage);
  if (found == shared_.end()) return;
  found->second.closed_at = now;
  found->second.decide_at = Instant::never();
}

void TellingOrder::acknowledged(OutageId outage, const std::string& by, Instant now) {
  const auto found = shared_.find(outage);
  if (found == shared_.end()) return;
  found->second.taken_by = by;
  found->second.taken_at = now;
}

void TellingOrder::acknowledgement_ran_out(OutageId outage) {
  const auto found = shared_.find(outage);
  if (found != shared_.end()) found->second.taken_by.clear();
}

void TellingOrder::put_away(OutageId outage, std::optional<Instant> until) {
  const auto found = shared_.find(outage);
  if (found != shared_.end()) found->second.put_away_until = until;
}

void TellingOrder::delivered(OutageId outage, std::vector<std::string> ways) {
  const auto found = shared_.find(outage);
  if (found != shared_.end()) found->second.here = std::move(ways);
}

void TellingOrder::alive(const std::string& watcher, bool is_alive, Instant now) {
  const auto [entry, added] = alive_.emplace(watcher, is_alive);
  if (!added && entry->second == is_alive) return;
  entry->second = is_alive;
  if (is_alive) return;
  for (auto& [outage, shared] : shared_) {
    if (!shared.closed_at.is_never()) continue;
    const bool its = shared.role == Role::stands_by && shared.teller == watcher;
    if (!its && shared.role != Role::waits) continue;
    decide(outage, shared, now);
  }
}

void TellingOrder::learn(const std::string& from, const std::vector<SharedOutage>& views,
                         Instant now) {
  for (const SharedOutage& view : views) {
    std::uint32_t& highest = numbers_.of_place[view.place];
    highest = std::max(highest, number_in(view.name));
    told_[view.place][from] = {view, now};
    for (auto& [outage, shared] : shared_) {
      if (shared.place.id != view.place || !shared.closed_at.is_never()) continue;
      // An end that belongs to an earlier outage of the place is not the end of this one.
      if (view.closed && number_in(view.name) != shared.number) continue;
      take_over(outage, shared, from, view, now);
    }
  }
}

/// What `from` has done about it counts from now on.
void TellingOrder::take_over(OutageId outage, Shared& shared, const std::string& from,
                             const SharedOutage& view, Instant now) {
  const std::uint32_t theirs = number_in(view.name);
  if (theirs > shared.number) number_of(outage, shared, theirs);
  std::vector<std::string> news;
  for (const std::string& way : view.delivered) {
    const bool own = std::find(shared.here.begin(), shared.here.end(), way) != shared.here.end();
    if (!own && shared.elsewhere.insert(way).second) news.push_back(way);
  }
  if (!news.empty() && shared.role == Role::tells) {
    TellingAct act;
    act.kind = TellingAct::Kind::reached;
    act.outage = outage;
    act.delivered = std::move(news);
    acts_.push_back(std::move(act));
  }
  take_acknowledgement(outage, shared, view, now);
  if (!view.told || view.closed) return;
  const bool before = rank(shared, from) < rank(shared, own_);
  if (shared.role == Role::tells && before) {
    TellingAct act;
    act.kind = TellingAct::Kind::hand_over;
    act.outage = outage;
    act.by = from;
    acts_.push_back(std::move(act));
  } else if (shared.role == Role::tells) {
    return;  // The other stands back.
  }
  shared.role = Role::stands_by;
  shared.teller = from;
  shared.decide_at = Instant::never();
}

void TellingOrder::take_acknowledgement(OutageId outage, Shared& shared, const SharedOutage& view,
                                        Instant now) {
  if (!view.taken_by.empty()) {
    const Instant at = now - view.taken_since;
    const bool newer = shared.taken_by.empty() ||
                       (view.taken_by != shared.taken_by && at > shared.taken_at) ||
                       at > shared.taken_at + same_moment;
    if (newer) {
      shared.taken_by = view.taken_by;
      shared.taken_at = at;
      TellingAct act;
      act.kind = TellingAct::Kind::acknowledge;
      act.outage = outage;
      act.by = view.taken_by;
      act.ago = view.taken_since;
      acts_.push_back(std::move(act));
    }
  }
  if (view.put_away_for && !shared.put_away_until) {
    shared.put_away_until = now + *view.put_away_for;
    TellingAct act;
    act.kind = TellingAct::Kind::put_away;
    act.outage = outage;
    act.rest = *view.put_away_for;
    acts_.push_back(std::move(act));
  }
}

/// The teller has not spoken of it for so long that nobody may be telling any more.
bool TellingOrder::forsaken(const Shared& shared, Instant now) const {
  const auto words = told_.find(shared.place.id);
  if (words == told_.end()) return true;
  const auto word = words->second.find(shared.teller);
  return word == words->second.end() || now - word->second.at > word_good_for + deputy_after_;
}

void TellingOrder::tick(Instant now) {
  for (auto& [outage, shared] : shared_) {
    const bool running = shared.closed_at.is_never();
    if (running && shared.role == Role::stands_by && forsaken(shared, now)) {
      decide(outage, shared, now);
    }
  }
  for (auto& [outage, shared] : shared_) {
    if (shared.role == Role::waits && shared.decide_at <= now) tell(outage, shared);
  }
  std::erase_if(shared_, [&](const auto& entry) {
    const Instant at = entry.second.closed_at;
    const bool gone = !at.is_never() && now - at >= closed_kept;
    if (gone) numbers_.of_outage.erase(entry.first);
    return gone;
  });
}

Instant TellingOrder::next_deadline() const {
  Instant next = Instant::never();
  for (const auto& [outage, shared] : shared_) {
    if (shared.role == Role::waits) next = std::min(next, shared.decide_at);
    if (!shared.closed_at.is_never()) next = std::min(next, shared.closed_at + closed_kept);
  }
  return next;
}

std::vector<TellingAct> TellingOrder::take_acts() {
  return std::exchange(acts_, {});
}

SharedOutage TellingOrder::view_of(const Shared& shared, Instant now) const {
  SharedOutage view;
  view.name = name_of(shared.place.id, shared.number);
  view.place = shared.place.id;
  view.lasts = std::max(now - shared.since, Span{});
  view.closed = !shared.closed_at.is_never();
  // Who was reached before counts as told by the one that has it now.
  view.told = shared.role == Role::tells &&
              (!shared.here.empty() || !shared.taken_by.empty() || !shared.elsewhere.empty());
  view.delivered = shared.here;
  for (const std::string& way : shared.elsewhere) view.delivered.push_back(way);
  if (view.delivered.size() > witness_limits::delivered_max) {
    view.delivered.resize(witness_limits::delivered_max);
  }
  view.taken_by = shared.taken_by.substr(0, witness_limits::text_chars_max);
  if (!view.taken_by.empty()) view.taken_since = std::max(now - shared.taken_at, Span{});
  if (shared.put_away_until && *shared.put_away_until > now) {
    view.put_away_for = *shared.put_away_until - now;
  }
  return view;
}

std::vector<SharedOutage> TellingOrder::views(Instant now) const {
  std::vector<SharedOutage> all;
  for (const auto& [outage, shared] : shared_) all.push_back(view_of(shared, now));
  return all;
}

std::string TellingOrder::name(OutageId outage) const {
  const auto found = shared_.find(outage);
  return found == shared_.end() ? "" : name_of(found->second.place.id, found->second.number);
}

std::optional<OutageId> TellingOrder::find(const std::string& name) const {
  for (const auto& [outage, shared] : shared_) {
    if (name_of(shared.place.id, shared.number) == name && shared.closed_at.is_never()) {
      return outage;
    }
  }
  return std::nullopt;
}

std::string TellingOrder::teller(OutageId outage) const {
  const auto found = shared_.find(outage);
  return found == shared_.end() ? "" : found->second.teller;
}

bool TellingOrder::tells(OutageId outage) const {
  const auto found = shared_.find(outage);
  return found == shared_.end() || found->second.role == Role::tells;
}

}  // namespace ebbwatch
