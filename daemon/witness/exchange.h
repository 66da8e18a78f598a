// One watcher's talk with its witnesses: asks before a loss, answers, says regularly that it is
// alive, passes on what it heard. A state machine: messages and the time in, messages and events
// for the core out; app/ carries the messages, the simulator carries them badly. Pure.
//
// One request at a time is under way to each partner; what comes up meanwhile goes with the next.
// A question about a controller is over when everybody asked has answered or failed, or when the
// limit has passed, whichever is first. Lost, repeated, late and reordered messages change nothing
// but the time: whoever has not answered abstains.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/event.h"
#include "core/ids.h"
#include "core/time.h"
#include "witness/message.h"
#include "witness/track_record.h"

namespace ebbwatch {

struct WitnessPartner {
  std::string name;
  bool can_be_asked = true;  ///< It has an address.
  bool relay = false;        ///< It is told what we hear.
  ControllerIndex beat;      ///< Stands for this watcher in the plan; none: it is not watched.
};

struct ExchangeRules {
  Span limit = Span::of_s(10);  ///< For the answers to one question.
  Span every = Span::of_s(30);  ///< Between two signs of life.
};

class Exchange {
 public:
  /// @param controllers identifiers by position, as in the plan.
  Exchange(std::string own_name, std::vector<WitnessPartner> partners,
           std::vector<std::string> controllers, ExchangeRules rules);

  /// Questions of the core (Watch::take_questions()).
  void ask(const std::vector<ControllerIndex>& questions, Instant now, std::vector<Event>& events);
  /// This watcher has heard the controller itself.
  void heard(ControllerIndex controller, Instant at);
  /// Until `at` this watcher may have missed check-ins: what it heard before is no testimony.
  void was_deaf_until(Instant at);
  void set_link_works(bool works) { link_works_ = works; }
  /// What goes out with every sign of life.
  void set_duties(std::vector<std::string> names, std::uint32_t in_all);
  /// Outages as they stand now, told to everybody with what is sent next.
  void set_outages(std::vector<SharedOutage> outages) { outages_ = std::move(outages); }
  /// Something changed that partners should know before the next sign of life.
  void hurry();

  struct Request {
    WitnessIndex to;
    WitnessMessage message;
  };
  /// Requests to send now; each must end in answered() or failed().
  std::vector<Request> take_requests(Instant now);
  void answered(WitnessIndex from, const WitnessMessage& answer, Instant now,
                std::vector<Event>& events);
  void failed(WitnessIndex from, Instant now, std::vector<Event>& events);
  /// A request from a partner, and what to answer. @pre its sender is proven.
  WitnessMessage serve(WitnessIndex from, const WitnessMessage& request, Instant now,
                       std::vector<Event>& events);
  /// Ends the questions whose limit has passed.
  void tick(Instant now, std::vector<Event>& events);
  Instant next_deadline() const;

  std::optional<WitnessIndex> find(std::string_view name) const;
  std::size_t size() const { return partners_.size(); }
  const std::string& name(WitnessIndex witness) const { return partners_[witness.value].is.name; }
  /// never(): nothing was heard of it yet.
  Instant last_heard(WitnessIndex witness) const { return partners_[witness.value].last_heard; }
  bool link_works(WitnessIndex witness) const { return partners_[witness.value].link_works; }
  const std::vector<std::string>& duties(WitnessIndex witness) const {
    return partners_[witness.value].duties;
  }
  std::uint32_t duties_in_all(WitnessIndex witness) const {
    return partners_[witness.value].duties_in_all;
  }
  /// Who last said that it hears the controller, of the newest question about it.
  std::vector<std::string> hearers(ControllerIndex controller) const;
  /// Who passed on the newest contact with the controller; empty: this watcher heard it itself, or
  /// nobody did.
  std::string heard_through(ControllerIndex controller) const;
  TrackRecord& record() { return record_; }
  const TrackRecord& record() const { return record_; }

 private:
  struct Partner {
    WitnessPartner is;
    bool under_way = false;
    std::vector<ControllerIndex> asked;  // in the request under way
    std::vector<ControllerIndex> to_ask;
    std::vector<ControllerIndex> to_relay;
    std::vector<char> is_to_relay;  // by controller: whether it is in to_relay
    Instant next_beat;
    Instant relay_at;  // of what is in to_relay
    Instant last_heard = Instant::never();
    Instant last_beat = Instant::never();
    bool link_works = true;
    std::vector<std::string> duties;
    std::uint32_t duties_in_all = 0;
    std::size_t next_outage = 0;  // where to go on when not all fit into one message
  };
  struct Question {
    Instant until;
    std::uint32_t waiting = 0;  // one bit for each partner
    std::uint32_t answered = 0;
    std::uint32_t hears = 0;
    std::uint32_t failed = 0;
  };
  struct Heard {
    Instant at = Instant::never();       // by this watcher itself
    Instant relayed = Instant::never();  // by another
    WitnessIndex relayer;                // @pre relayed
  };

  WitnessMessage letter(Partner& to, Instant now);
  void add_outages(Partner& to, WitnessMessage& message);
  void add_relayed(Partner& to, WitnessMessage& message, Instant now);
  void take_news(WitnessIndex from, const WitnessMessage& message, Instant now,
                 std::vector<Event>& events);
  void take_relayed(WitnessIndex from, const WitnessMessage& message, Instant now,
                    std::vector<Event>& events);
  void no_answer(WitnessIndex from, ControllerIndex controller, Instant now,
                 std::vector<Event>& events);
  void end_question(ControllerIndex controller, Instant now, std::vector<Event>& events);
  std::optional<ControllerIndex> controller(std::string_view id) const;
  bool hears_lately(ControllerIndex controller, Span age, Instant now) const;
  WitnessMessage::Word testimony(std::string_view id, Instant now) const;

  std::string own_;
  std::vector<Partner> partners_;
  std::vector<std::string> controllers_;
  std::map<std::string, ControllerIndex, std::less<>> by_id_;
  ExchangeRules rules_;
  std::map<ControllerIndex, Question> questions_;
  std::map<ControllerIndex, std::uint32_t> last_hearers_;
  std::vector<Heard> heard_;
  std::vector<std::string> duties_;
  std::uint32_t duties_in_all_ = 0;
  std::vector<SharedOutage> outages_;
  bool link_works_ = true;
  TrackRecord record_;
};

}  // namespace ebbwatch
