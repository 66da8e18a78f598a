#include "witness/exchange.h"

#include <algorithm>
#include <utility>

#include "core/invariant.h"

namespace ebbwatch {
namespace {

namespace most = witness_limits;
/// Hearings that come so close together are passed on in one message.
constexpr Span relay_gathers = Span::of_ms(500);
/// Two of one controller so close together are the same check-in.
constexpr Span relay_news = Span::of_s(1);

std::uint32_t bit(WitnessIndex witness) {
  return 1U << witness.value;
}

template <class Item>
std::vector<Item> take_front(std::vector<Item>& from, std::size_t count) {
  const auto end = from.begin() + static_cast<std::ptrdiff_t>(std::min(count, from.size()));
  std::vector<Item> out(from.begin(), end);
  from.erase(from.begin(), end);
  return out;
}

template <class Item>
void add_once(std::vector<Item>& to, const Item& item) {
  if (std::find(to.begin(), to.end(), item) == to.end()) to.push_back(item);
}

std::size_t size_of(const SharedOutage& view) {
  std::size_t size = 160 + view.name.size() + view.place.size() + view.taken_by.size();
  for (const std::string& one : view.delivered) size += one.size() + 4;
  return size;
}

}  // namespace

Exchange::Exchange(std::string own_name, std::vector<WitnessPartner> partners,
                   std::vector<std::string> controllers, ExchangeRules rules)
    : own_(std::move(own_name)),
      controllers_(std::move(controllers)),
      rules_(rules),
      heard_(controllers_.size()),
      record_(partners.size()) {
  INVARIANT(partners.size() <= most::partners_max);
  for (WitnessPartner& one : partners) {
    Partner partner;
    partner.is = std::move(one);
    partner.is_to_relay.assign(controllers_.size(), 0);
    partners_.push_back(std::move(partner));
  }
  for (std::uint32_t i = 0; i < controllers_.size(); ++i) by_id_[controllers_[i]] = {i};
}

std::optional<WitnessIndex> Exchange::find(std::string_view name) const {
  for (std::uint32_t i = 0; i < partners_.size(); ++i) {
    if (partners_[i].is.name == name) return WitnessIndex{i};
  }
  return std::nullopt;
}

std::optional<ControllerIndex> Exchange::controller(std::string_view id) const {
  const auto found = by_id_.find(id);
  if (found == by_id_.end()) return std::nullopt;
  return found->second;
}

void Exchange::heard(ControllerIndex controller, Instant at) {
  heard_[controller.value].at = at;
  for (Partner& partner : partners_) {
    if (!partner.is.relay) continue;
    if (partner.to_relay.empty()) partner.relay_at = at + relay_gathers;
    // No search: one that never calls may have all of them waiting.
    if (std::exchange(partner.is_to_relay[controller.value], 1) == 0) {
      partner.to_relay.push_back(controller);
    }
  }
}

void Exchange::was_deaf_until(Instant at) {
  for (Heard& it : heard_) {
    if (!it.at.is_never() && it.at < at) it.at = Instant::never();
  }
}

void Exchange::set_duties(std::vector<std::string> names, std::uint32_t in_all) {
  duties_ = std::move(names);
  if (duties_.size() > most::duties_max) duties_.resize(most::duties_max);
  duties_in_all_ = in_all;
}

void Exchange::hurry() {
  for (Partner& partner : partners_) partner.next_beat = Instant{};
}

void Exchange::ask(const std::vector<ControllerIndex>& questions, Instant now,
                   std::vector<Event>& events) {
  for (const ControllerIndex controller : questions) {
    Question& question = questions_[controller];
    question = {now + rules_.limit, 0, 0, 0, 0};
    for (std::uint32_t i = 0; i < partners_.size(); ++i) {
      // What a watcher says of itself is no testimony.
      if (!partners_[i].is.can_be_asked || partners_[i].is.beat == controller) continue;
      question.waiting |= bit({i});
      add_once(partners_[i].to_ask, controller);
    }
    if (question.waiting == 0) end_question(controller, now, events);
  }
}

void Exchange::end_question(ControllerIndex controller, Instant now, std::vector<Event>& events) {
  const auto found = questions_.find(controller);
  if (found == questions_.end()) return;
  const Question& it = found->second;
  record_.question_over(controller, it.answered, it.hears, it.failed | it.waiting, now);
  last_hearers_[controller] = it.hears;
  questions_.erase(found);
  events.push_back({now, WitnessesHeardOut{controller}});
}

std::vector<std::string> Exchange::hearers(ControllerIndex controller) const {
  std::vector<std::string> names;
  const auto found = last_hearers_.find(controller);
  if (found == last_hearers_.end()) return names;
  for (std::uint32_t i = 0; i < partners_.size(); ++i) {
    if (found->second & bit({i})) names.push_back(partners_[i].is.name);
  }
  return names;
}

std::string Exchange::heard_through(ControllerIndex controller) const {
  const Heard& it = heard_[controller.value];
  if (it.relayed.is_never() || (!it.at.is_never() && it.at >= it.relayed)) return "";
  return partners_[it.relayer.value].is.name;
}

void Exchange::add_outages(Partner& to, WitnessMessage& message) {
  std::size_t bytes = 0;
  if (to.next_outage >= outages_.size()) to.next_outage = 0;
  for (std::size_t i = 0; i < std::min(outages_.size(), most::outages_max); ++i) {
    const SharedOutage& view = outages_[(to.next_outage + i) % outages_.size()];
    bytes += size_of(view);
    if (bytes > most::outages_bytes_max && i > 0) {
      to.next_outage = (to.next_outage + i) % outages_.size();
      return;
    }
    message.outages.push_back(view);
  }
}

void Exchange::add_relayed(Partner& to, WitnessMessage& message, Instant now) {
  for (const ControllerIndex it : take_front(to.to_relay, most::subjects_max)) {
    to.is_to_relay[it.value] = 0;
    const Instant at = heard_[it.value].at;
    if (!at.is_never()) message.relayed.push_back({controllers_[it.value], now - at});
  }
}

WitnessMessage Exchange::letter(Partner& to, Instant now) {
  WitnessMessage message;
  message.from = own_;
  message.to = to.is.name;
  message.link_works = link_works_;
  message.every = rules_.every;
  message.duties = duties_;
  message.duties_in_all = duties_in_all_;
  add_outages(to, message);
  add_relayed(to, message, now);
  return message;
}

std::vector<Exchange::Request> Exchange::take_requests(Instant now) {
  std::vector<Request> requests;
  for (std::uint32_t i = 0; i < partners_.size(); ++i) {
    Partner& partner = partners_[i];
    if (!partner.is.can_be_asked || partner.under_way) continue;
    const bool relays = !partner.to_relay.empty() && now >= partner.relay_at;
    if (partner.to_ask.empty() && !relays && now < partner.next_beat) continue;
    WitnessMessage message = letter(partner, now);
    partner.asked = take_front(partner.to_ask, most::subjects_max);
    for (const ControllerIndex it : partner.asked) message.ask.push_back(controllers_[it.value]);
    partner.under_way = true;
    partner.next_beat = now + rules_.every;
    requests.push_back({{i}, std::move(message)});
  }
  return requests;
}

void Exchange::no_answer(WitnessIndex from, ControllerIndex controller, Instant now,
                         std::vector<Event>& events) {
  const auto found = questions_.find(controller);
  if (found == questions_.end() || !(found->second.waiting & bit(from))) return;
  found->second.waiting &= ~bit(from);
  if (found->second.waiting == 0) end_question(controller, now, events);
}

void Exchange::failed(WitnessIndex from, Instant now, std::vector<Event>& events) {
  Partner& partner = partners_[from.value];
  partner.under_way = false;
  events.push_back({now, WitnessReachable{from, false}});
  std::vector<ControllerIndex> asked = std::exchange(partner.asked, {});
  // Those that were to be asked next would fail as well.
  for (const ControllerIndex it : std::exchange(partner.to_ask, {})) asked.push_back(it);
  for (const ControllerIndex it : asked) {
    const auto question = questions_.find(it);
    if (question != questions_.end())
      question->second.failed |= question->second.waiting & bit(from);
    no_answer(from, it, now, events);
  }
}

void Exchange::answered(WitnessIndex from, const WitnessMessage& answer, Instant now,
                        std::vector<Event>& events) {
  Partner& partner = partners_[from.value];
  partner.under_way = false;
  take_news(from, answer, now, events);
  events.push_back({now, WitnessReachable{from, answer.link_works}});
  const std::vector<ControllerIndex> asked = std::exchange(partner.asked, {});
  for (const ControllerIndex it : asked) {
    const auto word = std::find_if(answer.words.begin(), answer.words.end(), [&](const auto& one) {
      return one.controller == controllers_[it.value];
    });
    const auto question = questions_.find(it);
    const bool late = question == questions_.end() || !(question->second.waiting & bit(from));
    if (word != answer.words.end() && answer.link_works && !late) {
      events.push_back({now, WitnessWord{from, it, word->age}});
      if (word->age) question->second.answered |= bit(from);
      if (word->age && hears_lately(it, *word->age, now)) question->second.hears |= bit(from);
    }
  }
  // All words before the first verdict: those of one site are weighed together.
  for (const ControllerIndex it : asked) no_answer(from, it, now, events);
}

/// In the later half of the time for which this watcher has not heard it.
bool Exchange::hears_lately(ControllerIndex controller, Span age, Instant now) const {
  const Instant own = heard_[controller.value].at;
  return age < (own.is_never() ? rules_.every * 2 : (now - own) / 2);
}

WitnessMessage::Word Exchange::testimony(std::string_view id, Instant now) const {
  WitnessMessage::Word word{std::string(id), {}};
  if (const auto it = controller(id)) {
    // Only what it heard itself: a relayed hearing is never passed on.
    const Instant at = heard_[it->value].at;
    if (!at.is_never()) word.age = std::max(now - at, Span{});
  }
  return word;
}

WitnessMessage Exchange::serve(WitnessIndex from, const WitnessMessage& request, Instant now,
                               std::vector<Event>& events) {
  take_news(from, request, now, events);
  WitnessMessage answer = letter(partners_[from.value], now);
  for (const std::string& id : request.ask) answer.words.push_back(testimony(id, now));
  return answer;
}

void Exchange::take_news(WitnessIndex from, const WitnessMessage& message, Instant now,
                         std::vector<Event>& events) {
  Partner& partner = partners_[from.value];
  partner.last_heard = now;
  partner.link_works = message.link_works;
  if (!message.duties.empty()) {
    partner.duties = message.duties;
    partner.duties_in_all = message.duties_in_all;
  }
  take_relayed(from, message, now, events);
  // Its questions and its answers both show that it lives; what follows at once is no news.
  const Span every = message.every.us > 0 ? message.every : rules_.every;
  if (partner.is.beat.is_none()) return;
  if (!partner.last_beat.is_never() && now - partner.last_beat < every / 2) return;
  partner.last_beat = now;
  heard_[partner.is.beat.value].at = now;
  CheckIn sign;
  sign.controller = partner.is.beat;
  events.push_back({now, sign});
}

void Exchange::take_relayed(WitnessIndex from, const WitnessMessage& message, Instant now,
                            std::vector<Event>& events) {
  for (const WitnessMessage::Word& word : message.relayed) {
    const auto found = controller(word.controller);
    if (!found || !word.age || *word.age > rules_.limit) continue;
    Heard& it = heard_[found->value];
    // The same check-in that came directly, or by another.
    const Instant at = now - *word.age;
    const auto known = [&](Instant earlier) {
      return !earlier.is_never() && at < earlier + relay_news;
    };
    if (known(it.at) || known(it.relayed)) continue;
    it.relayed = at;
    it.relayer = from;
    CheckIn check_in;
    check_in.controller = *found;
    check_in.relayed = true;
    events.push_back({now, check_in});
  }
}

void Exchange::tick(Instant now, std::vector<Event>& events) {
  std::vector<ControllerIndex> over;
  for (const auto& [controller, question] : questions_) {
    if (question.until <= now) over.push_back(controller);
  }
  for (const ControllerIndex it : over) end_question(it, now, events);
}

Instant Exchange::next_deadline() const {
  Instant next = Instant::never();
  for (const auto& [controller, question] : questions_) next = std::min(next, question.until);
  for (const Partner& partner : partners_) {
    if (!partner.is.can_be_asked || partner.under_way) continue;
    next = std::min(next, partner.to_ask.empty() ? partner.next_beat : Instant{});
    if (!partner.to_relay.empty()) next = std::min(next, partner.relay_at);
  }
  return next;
}

}  // namespace ebbwatch
