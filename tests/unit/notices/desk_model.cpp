#include "notices/desk_model.h"

#include <algorithm>

#include "core/limits.h"

namespace ebbwatch::sample {
namespace {

Settings settings_with(std::uint32_t summary_above) {
  Settings made = settings();
  made.call_lists[0].repeat_at_most = 1;
  for (KeyholderSettings& person : made.keyholders) person.summary_above = summary_above;
  return made;
}
const Settings& model_settings(std::uint32_t summary_above) {
  static const Settings few = settings_with(1), usual = settings_with(5);
  return summary_above == 1 ? few : usual;
}
const WatchPlan& model_plan() {
  static const WatchPlan plan = make_plan(model_settings(5));
  return plan;
}

// The model's two tanks: Lagoon reef, with fail over and a second step, and Bay, with one way.
constexpr std::uint32_t plan_tank(std::uint32_t tank) {
  return tank == 0 ? 0 : 2;
}
const char* first_keyholder(OutageId id) {
  return id % 2 == 1 ? "robin" : "kim";
}

}  // namespace

const char* name(Act act) {
  switch (act) {
    case Act::lose:
      return "lose";
    case Act::revise:
      return "revise";
    case Act::recover:
      return "recover";
    case Act::acknowledge:
      return "acknowledge";
    case Act::commit:
      return "commit";
    case Act::send:
      return "send";
    case Act::deliver:
      return "deliver";
    case Act::deliver_newest:
      return "deliver_newest";
    case Act::fail:
      return "fail";
    case Act::refuse:
      return "refuse";
    case Act::lose_answer:
      return "lose_answer";
    case Act::lose_message:
      return "lose_message";
    case Act::crash:
      return "crash";
    case Act::crash_after:
      return "crash_after";
    case Act::wait:
      return "wait";
  }
  return "";
}

DeskModel::DeskModel(std::uint64_t seed, std::uint32_t tanks, std::uint32_t summary_above)
    : settings_(&model_settings(summary_above)),
      plan_(&model_plan()),
      entropy_(seed),
      desk_(*settings_, *plan_),
      tanks_(tanks) {}

bool DeskModel::can(Act act, std::uint32_t tank) const {
  const auto running = world_.of_tank.find(tank);
  const bool lost = running != world_.of_tank.end();
  switch (act) {
    case Act::lose:
      return !lost && tank < tanks_ && world_.next <= 6;
    case Act::revise:
      return lost && !world_.outages.at(running->second).revised;
    case Act::recover:
      return lost;
    case Act::acknowledge:
      return lost && !is_acknowledged(world_.outages.at(running->second));
    case Act::commit:
      return !pending_.empty();
    case Act::send: {
      const auto next = desk_.next_deadline();
      return next && *next <= now_;
    }
    case Act::deliver:
    case Act::fail:
    case Act::refuse:
    case Act::lose_answer:
    case Act::lose_message:
      return !flying_.empty();
    case Act::deliver_newest:
      return flying_.size() > 1;
    case Act::crash:
      return world_.next > 1;
    case Act::crash_after:
      return !flying_.empty();
    case Act::wait:
      return desk_.next_deadline().has_value();
  }
  return false;
}

void DeskModel::do_it(Act act, std::uint32_t tank) {
  story_ += std::string(story_.empty() ? "" : " ") + name(act) + (tank == 0 ? "" : "'");
  switch (act) {
    case Act::lose: {
      // Odd identifiers belong to the first tank, so that a receipt tells whose outage it was.
      OutageId id = world_.next;
      while (id % 2 != (tank == 0 ? 1U : 0U)) ++id;
      world_.next = id + 1;
      world_.of_tank[tank] = id;
      world_.outages[id].running = true;
      return decide(DecisionKind::loss, tank, id);
    }
    case Act::revise:
      world_.outages[world_.of_tank[tank]].revised = true;
      return decide(DecisionKind::cause_revised, tank, world_.of_tank[tank]);
    case Act::recover: {
      const OutageId id = world_.of_tank[tank];
      world_.of_tank.erase(tank);
      world_.outages[id].running = false;
      return decide(DecisionKind::recovery, tank, id);
    }
    case Act::acknowledge: {
      Outage& outage = world_.outages[world_.of_tank[tank]];
      outage.acknowledged_until = now_ + acknowledged_for_default;
      outage.ever_acknowledged = true;
      return keep(
          desk_.on_acknowledge(world_.of_tank[tank], {"robin", AnswerWay::text}, now_, entropy_));
    }
    case Act::commit:
      return commit_all();
    case Act::send:
      return start_attempts();
    case Act::deliver:
      return answer(0, Outcome::Kind::delivered, true);
    case Act::deliver_newest:
      return answer(flying_.size() - 1, Outcome::Kind::delivered, true);
    case Act::fail:
      return answer(0, Outcome::Kind::retry_later, false);
    case Act::refuse:
      return answer(0, Outcome::Kind::rejected_forever, false);
    case Act::lose_answer:
      return answer(0, Outcome::Kind::unknown, true);
    case Act::lose_message:
      return answer(0, Outcome::Kind::unknown, false);
    case Act::crash:
      return restart(false);
    case Act::crash_after:
      return restart(true);
    case Act::wait:
      return pass(*desk_.next_deadline());
  }
}

void DeskModel::decide(DecisionKind kind, std::uint32_t tank, OutageId outage) {
  Decision made = decision(kind, {Scope::tank, plan_tank(tank)}, outage);
  if (kind == DecisionKind::cause_revised) {
    made.cause = Cause::mains_power;
    made.confidence = 0.9;
  }
  keep(desk_.on_decision(made, context(now_), entropy_));
}

void DeskModel::keep(Changes changes) {
  for (const NoticeRow& row : changes.notices) {
    if (row.state == "waiting" && row.kind == "loss" && !rows_.has(row.notice) &&
        is_acknowledged(world_.outages[row.outage])) {
      wrong("a loss is to be told after the acknowledgement");
    }
  }
  pending_.push_back(std::move(changes));
}

void DeskModel::commit_all() {
  for (const Changes& changes : pending_) {
    rows_.commit(changes);
    desk_.committed(changes.ticket);
  }
  pending_.clear();
  committed_world_ = world_;
}

void DeskModel::start_attempts() {
  keep(desk_.on_tick(now_, entropy_));
  for (Send& attempt : desk_.take_due(now_)) {
    check_start(attempt);
    flying_.push_back(std::move(attempt));
  }
  if (desk_.in_flight("text") > limits::notices_in_flight_per_notifier_max) {
    wrong("too many attempts under way");
  }
}

void DeskModel::check_start(const Send& attempt) {
  check_start(attempt.message.notice);
  for (const std::string& id : attempt.message.carries) check_start(id);
  for (const Send& other : flying_) {
    if (other.message.notice == attempt.message.notice) {
      wrong("the same notice is under way twice");
    }
  }
}

void DeskModel::check_start(const std::string& id) {
  if (!rows_.has(id)) return wrong("sent before it was stored: " + id);
  const NoticeRow& row = rows_.notice(id);
  if (row.state != "waiting") wrong("sent although it had ended as " + row.state);
  if (row.outage == 0) return;  // A summary.
  const Outage& outage = world_.outages[row.outage];
  if (row.kind == "loss" && !outage.running) wrong("a stale loss was sent");
  if (row.kind == "loss" && is_acknowledged(outage)) wrong("a loss was sent after acknowledgement");
}

void DeskModel::answer(std::size_t index, Outcome::Kind kind, bool arrives) {
  const Send attempt = flying_[index];
  flying_.erase(flying_.begin() + static_cast<std::ptrdiff_t>(index));
  if (arrives) arrive(attempt);
  keep(desk_.on_outcome(attempt.message.notice, {kind, "answer", {}}, now_, entropy_));
}

void DeskModel::arrive(const Send& attempt) {
  const bool combined = attempt.message.text.find("stands for both") != std::string::npos;
  if (attempt.message.carries.empty()) return arrive(attempt, attempt.message.notice, combined);
  for (const std::string& id : attempt.message.carries) {
    const Result<Notice> notice = from_row(rows_.notice(id));
    arrive(attempt, id, notice && notice.value().occasion == Occasion::combined);
  }
}

void DeskModel::arrive(const Send& attempt, const std::string& id, bool combined) {
  const Result<Notice> notice = from_row(rows_.notice(id));
  if (!notice) return wrong("row cannot be read");
  Receipt receipt;
  receipt.notice = id;
  receipt.keyholder = attempt.message.keyholder;
  receipt.notifier = attempt.notifier;
  receipt.group = notice.value().group;
  receipt.outage = notice.value().outage;
  receipt.kind = notice.value().story.kind;
  receipt.combined = combined;
  for (const Receipt& earlier : receipts_) {
    if (earlier.outage == receipt.outage && earlier.group == receipt.group &&
        earlier.keyholder == receipt.keyholder && earlier.notifier == receipt.notifier &&
        earlier.notice != receipt.notice) {
      wrong("told twice by the same way under two identifiers: " + receipt.group);
    }
  }
  const bool follows = receipt.kind == DecisionKind::cause_revised ||
                       (receipt.kind == DecisionKind::recovery && !receipt.combined);
  if (follows && !has_receipt(receipt.outage, receipt.keyholder, DecisionKind::loss)) {
    wrong(std::string(word(receipt.kind)) + " without its loss");
  }
  receipts_.push_back(receipt);
}

void DeskModel::restart(bool arrived) {
  if (arrived) {
    for (const Send& attempt : flying_) arrive(attempt);
  }
  flying_.clear();
  pending_.clear();
  world_ = committed_world_;
  desk_ = NoticeDesk(*settings_, *plan_);
  keep(desk_.restore(rows_.load(), now_, entropy_));
}

void DeskModel::pass(WallTime until) {
  now_ = std::max(now_, until);
  keep(desk_.on_tick(now_, entropy_));
}

bool DeskModel::has_receipt(OutageId id, const std::string& keyholder, DecisionKind kind) const {
  return std::any_of(receipts_.begin(), receipts_.end(), [&](const Receipt& receipt) {
    const bool right_kind =
        receipt.kind == kind || (kind == DecisionKind::loss && receipt.combined);
    return receipt.outage == id && receipt.keyholder == keyholder && right_kind;
  });
}

bool DeskModel::has_dead_letter(OutageId id, const std::string& keyholder) const {
  for (const NoticeRow& row : rows_.notices()) {
    if (row.outage == id && row.keyholder == keyholder && row.state == "dead_letter") {
      return true;
    }
  }
  return false;
}

void DeskModel::heal() {
  for (int round = 0; round < 1000; ++round) {
    commit_all();
    while (!flying_.empty()) answer(0, Outcome::Kind::delivered, true);
    commit_all();
    const auto next = desk_.next_deadline();
    if (!next) break;
    pass(*next);
    commit_all();
    start_attempts();
  }
  if (desk_.next_deadline() || desk_.waiting() > 0) wrong("does not come to rest");
  for (const auto& [id, outage] : world_.outages) check_end(id, outage);
  if (world_.of_tank.empty() && desk_.outages() > 0) wrong("keeps outages that have ended");
}

void DeskModel::check_end(OutageId id, const Outage& outage) {
  const std::string first = first_keyholder(id);
  if (!outage.ever_acknowledged && !has_receipt(id, first, DecisionKind::loss) &&
      !has_dead_letter(id, first)) {
    wrong("a loss reached nobody and is no dead letter");
  }
  if (outage.running) return;
  std::set<std::string> told;
  for (const Receipt& receipt : receipts_) {
    if (receipt.outage == id && receipt.kind == DecisionKind::loss) told.insert(receipt.keyholder);
  }
  for (const std::string& keyholder : told) {
    if (!has_receipt(id, keyholder, DecisionKind::recovery) && !has_dead_letter(id, keyholder)) {
      wrong(keyholder + " was told of the loss but not of the recovery");
    }
  }
}

}  // namespace ebbwatch::sample
