#include "rows.h"

#include <sstream>

namespace ebbwatch::test {
namespace {

std::string text(WallTime time) {
  return std::to_string(time.us);
}
std::string text(std::uint64_t number) {
  return std::to_string(number);
}
std::string text(double number) {
  std::ostringstream out;
  out.precision(17);
  out << number;
  return out.str();
}

template <class T>
std::string text(const std::optional<T>& value) {
  return value ? text(*value) : "-";
}

std::string line(const CheckInRow& r) {
  return "check-in " + text(r.at) + " " + r.controller + " " + text(r.seq) + " " +
         text(r.uptime_s) + " [" + r.power + "] " + (r.buffered ? "buffered" : "now") + " " +
         r.readings_json;
}

std::string line(const WatcherRow& r) {
  return "watcher " + text(r.at) + " " + r.kind + " [" + r.subject + "] " + (r.ok ? "ok" : "not");
}

std::string line(const ControllerRow& r) {
  return "controller " + r.controller + " " + r.contact + " " + text(r.last_heard) + " " +
         text(r.contact_since) + " " + std::to_string(r.interval.us) + " " + text(r.seq) + " " +
         text(r.uptime_s) + " [" + r.power + "] " + text(r.power_at) + " " + text(r.outage) +
         " planned " + text(r.planned_until) + " link " + text(r.sent) + " " + text(r.lost) + " " +
         std::to_string(r.error.us) + " figure " + text(r.figure) + " " + text(r.figure_at) +
         (r.unsteady ? " unsteady " : " steady ") + text(r.standing) + " " + r.standing_scope +
         " datagram " + text(r.datagram_at) + (r.by_broker ? " by broker" : "");
}

std::string line(const OutageRow& r) {
  return "outage " + text(r.id) + " " + r.scope + " " + r.subject + " " + text(r.since) + " " +
         text(r.confirmed_at) + " " + r.cause + " " + text(r.confidence) + " " + r.alarm +
         (r.told ? " told" : " held") + (r.closed ? " closed" : " open");
}

std::string line(const DecisionRow& r) {
  return "decision " + std::to_string(r.number) + " " + text(r.at) + " " + r.kind + " " + r.scope +
         " " + r.subject + " " + text(r.outage) + " " + r.json;
}

std::string line(const NoticeRow& r) {
  return "notice " + r.notice + " " + text(r.outage) + " " + r.kind + " " + r.keyholder + " " +
         r.notifier + " " + r.state + " " + std::to_string(r.attempts) + " " + text(r.created_at) +
         " " + text(r.next_attempt_at) + " " + text(r.ended_at) + " [" + r.last_answer + "] " +
         r.message_json;
}

std::string line(const AttemptRow& r) {
  return "attempt " + r.notice + " " + std::to_string(r.number) + " " + text(r.at) + " " +
         r.outcome + " [" + r.answer + "]";
}

std::string line(const CallRow& r) {
  return "call " + text(r.outage) + " " + r.call_list + " " + std::to_string(r.next_step) + " " +
         std::to_string(r.repeats) + " " + text(r.next_at) + " " + text(r.started_at) +
         (r.acknowledged ? " by " + r.acknowledged_by : " open") + (r.closed ? " closed" : "") +
         " " + text(r.acknowledged_at) + " " + text(r.acknowledged_until) + " " +
         std::to_string(r.resumptions);
}

std::string line(const ShelfRow& r) {
  return r.kind + " " + r.scope + " " + r.subject + " " + text(r.since) + " " + text(r.until) +
         " [" + r.reason + "] " + r.by;
}

std::string line(const LinkRow& r) {
  return "link " + r.token_hash + " " + text(r.outage) + " " + r.keyholder + " " + text(r.made_at) +
         " " + text(r.used_at);
}

std::string line(const ProofRow& r) {
  return "proof " + r.keyholder + " " + r.notifier + " " + text(r.delivered_at) + " " +
         text(r.answered_at);
}

std::string line(const DrillRow& r) {
  return "drill " + text(r.outage) + " " + text(r.started_at) + " " + r.site + " " + r.by + " [" +
         r.told + "] [" + r.answered + "]" + (r.closed ? " closed" : " open");
}

template <class Row>
std::string lines(const std::vector<Row>& rows) {
  std::string out;
  for (const auto& row : rows) out += line(row) + "\n";
  return out;
}

template <class Row>
std::string lines(const Result<std::vector<Row>>& rows) {
  return rows ? lines(rows.value()) : "error: " + rows.error().text + "\n";
}

}  // namespace

CheckInRow check_in(double seconds, const std::string& controller) {
  CheckInRow row;
  row.at = at(seconds);
  row.controller = controller;
  return row;
}

NoticeRow notice(const std::string& id, std::uint64_t outage_id) {
  NoticeRow row;
  row.notice = id;
  row.outage = outage_id;
  row.kind = "loss";
  row.keyholder = "robin";
  row.notifier = "mail";
  row.created_at = at(10);
  row.next_attempt_at = at(9'000'000);
  row.message_json = R"({"text":"Lagoon reef is silent."})";
  return row;
}

AttemptRow attempt(const std::string& notice_id, std::uint32_t number, double seconds) {
  return {notice_id, number, at(seconds), "retry_later", "451 try again later"};
}

OutageRow outage(std::uint64_t id, bool closed) {
  OutageRow row;
  row.id = id;
  row.scope = "tank";
  row.subject = "lagoon";
  row.since = at(1);
  row.confirmed_at = at(2);
  row.cause = "mains_power";
  row.confidence = 0.1 + 0.2;
  row.alarm = "unacknowledged";
  row.closed = closed;
  return row;
}

DecisionRow decision(double seconds, const std::string& subject, std::uint64_t outage_id) {
  return {0, at(seconds), "loss", "tank", subject, outage_id, R"({"decision":"loss"})"};
}

CallRow call(std::uint64_t outage_id, bool closed) {
  CallRow row;
  row.outage = outage_id;
  row.call_list = "everyday";
  row.next_step = 1;
  row.repeats = 2;
  row.next_at = at(8'000'000);
  row.started_at = at(3);
  row.closed = closed;
  return row;
}

ControllerRow controller(const std::string& id) {
  ControllerRow row;
  row.controller = id;
  row.contact = "present";
  row.last_heard = at(5);
  row.contact_since = at(4);
  row.interval = Span::of_s(60);
  row.seq = 7;
  row.uptime_s = 12.25;
  row.power = "battery";
  row.power_at = at(5);
  row.datagram_at = at(5.5);
  row.by_broker = id != "lagoon-main";
  return row;
}

Batch full_batch(std::uint64_t number) {
  const std::string n = std::to_string(number);
  const auto seconds = static_cast<double>(number);
  Batch batch;
  batch.check_ins = {check_in(seconds, "lagoon-main"), check_in(seconds, "lagoon-" + n)};
  batch.check_ins[1].seq = number;
  batch.check_ins[1].readings_json = R"({"temperature_c":25.1})";
  batch.watcher_rows = {{at(seconds), "uplink", "resolver", true}};
  batch.controllers = {controller("lagoon-main"), controller("lagoon-" + n)};
  batch.controllers[0].seq = number;
  batch.outages = {outage(number, number % 2 == 0)};
  batch.decisions = {decision(seconds, "lagoon", number), decision(seconds, "reef-" + n, number)};
  batch.notices = {notice("notice-" + n + "-a", number), notice("notice-" + n + "-b", number)};
  batch.attempts = {attempt("notice-" + n + "-a", 1, seconds)};
  batch.calls = {call(number)};
  batch.controllers[1].planned_until = at(seconds + 100);
  batch.controllers[1].sent = 4000.5;
  batch.controllers[1].lost = 12.25;
  batch.controllers[1].error = Span::of_ms(420);
  batch.controllers[1].figure = 2600.125;
  batch.controllers[1].figure_at = at(seconds);
  batch.controllers[1].unsteady = true;
  batch.controllers[1].standing = number + 7;
  batch.controllers[1].standing_scope = "tank";
  const bool out = number % 3 == 0;
  ShelfRow shelf{"tank",         "lagoon-" + n, out ? "out_of_service" : "shelved", at(seconds), {},
                 "water change", "robin"};
  if (!out) shelf.until = at(seconds + 7200);
  batch.shelves = {shelf, shelf, shelf};
  batch.shelves[1].ended = true;
  batch.shelves[2].subject = "reef";
  batch.links = {{"hash-" + n + "-a", number, "robin", at(seconds), {}},
                 {"hash-" + n + "-b", number, "sam", at(seconds), at(seconds + 1)}};
  batch.proofs = {{"robin", "mail-" + n, at(seconds), {}}, {"robin", "mail-" + n, {}, at(seconds)}};
  batch.drills = {{number, at(seconds), "elm", "robin", "robin sam", "sam", number % 2 == 1}};
  batch.next_outage = number + 1;
  return batch;
}

std::string all_of(Store& store) {
  const auto loaded = store.load();
  if (!loaded) return "error: " + loaded.error().text + "\n";
  const StoredState& state = loaded.value();
  std::string out = "next outage " + text(state.next_outage) + ", last written " +
                    text(state.last_written) +
                    (state.stopped_in_good_order ? ", stopped in good order\n" : "\n");
  out +=
      lines(state.controllers) + lines(state.outages) + lines(state.notices) + lines(state.calls);
  out += lines(state.shelves) + lines(state.links) + lines(state.proofs) + lines(state.drills);
  out += lines(store.decisions({})) + lines(store.check_ins({})) + lines(store.watcher_rows({}));
  for (std::uint64_t id = 0; id < state.next_outage; ++id) {
    const auto notices = store.notices_of(id);
    out += lines(notices);
    if (!notices) continue;
    for (const auto& row : notices.value()) out += lines(store.attempts_of(row.notice));
  }
  return out;
}

}  // namespace ebbwatch::test
