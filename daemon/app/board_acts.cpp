#include "app/board_acts.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>
#include <charconv>

#include "app/ask_store.h"
#include "app/people.h"
#include "app/stored.h"
#include "app/stored_decision.h"
#include "core/limits.h"
#include "core/wording.h"
#include "reporting/log.h"
#include "settings/plan.h"
#include "text/calendar.h"
#include "text/duration.h"
#include "text/rfc3339.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

constexpr const char* not_own = "This is none of the sites whose call list has you. A host may.";

BoardAnswer no_outage() {
  return refusal(404, "There is no such outage.");
}

/// What a running outage, or alarm of a reading, is about.
std::optional<Subject> subject_of(const Engine& engine, OutageId id) {
  if (const auto* reading = engine.readings().alarm(id)) {
    return Subject{Scope::tank, reading->tank.value};
  }
  const OutageRecord* record = engine.watch().outage(id);
  return record != nullptr ? std::optional(record->subject) : std::nullopt;
}

/// What an outage is about, by its newest decision.
struct About {
  std::string scope, subject;
};

Result<std::optional<About>> about(Store& store, OutageId outage) {
  HistoryQuery query;
  query.outage = outage;
  const auto rows = store.decisions(query);
  if (!rows) return rows.error();
  std::optional<About> found;
  for (const auto& row : rows.value()) found = About{row.scope, row.subject};
  return found;
}

/// The end of a shelf that the form asks for; empty when it is no time.
std::optional<WallTime> end_of_shelf(const FormFields& form, WallTime now) {
  const auto until = form_value(form, "until");
  if (!until.empty()) return local_moment(until);
  const auto span = parse_duration(form_value(form, "for"));
  if (!span) return std::nullopt;
  return now + span.value();
}

}  // namespace

std::string clean_text(std::string text, std::size_t most) {
  std::erase(text, '\r');
  const auto blank = [](char c) { return c == ' ' || c == '\n' || c == '\t'; };
  while (!text.empty() && blank(text.front())) text.erase(0, 1);
  while (!text.empty() && blank(text.back())) text.pop_back();
  std::size_t characters = 0;
  for (std::size_t at = 0; at < text.size(); ++characters) at += code_point_at(text, at).bytes;
  const bool control = std::any_of(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\t') || c == 0x7f;
  });
  return control || !is_utf8(text) || characters > most ? std::string() : text;
}

std::vector<std::string> own_sites(const Settings& settings, const Session& session) {
  if (session.keyholder.empty()) return {};
  return sites_of_keyholder(settings, session.keyholder);
}

std::optional<OutageId> outage_called(const Engine& engine, const std::string& text) {
  if (const auto shared = engine.find_outage(text)) return shared;
  const std::string start = engine.settings().watcher.name + "-";
  if (!text.starts_with(start)) return std::nullopt;
  OutageId id = 0;
  const char* end = text.data() + text.size();
  const auto [stopped, error] = std::from_chars(text.data() + start.size(), end, id);
  if (error != std::errc() || stopped != end || id == 0) return std::nullopt;
  return id;
}

std::string doer(const Session& session) {
  return session.keyholder.empty() ? session.person : session.keyholder;
}

bool BoardActs::may_act(const Session& session, const std::vector<std::string>& sites) const {
  Frame frame;
  frame.role = session.role;
  frame.own_sites = own_sites(parts_.engine.settings(), session);
  return frame.may_act(sites);
}

boost::asio::awaitable<BoardAnswer> BoardActs::act(Passed passed) {
  if (passed.page == BoardPage::acknowledge) co_return co_await acknowledge(passed);
  if (passed.page == BoardPage::note) co_return co_await note(passed);
  if (passed.page == BoardPage::mark) co_return co_await mark(passed);
  if (passed.page == BoardPage::drill) co_return co_await drill(passed);
  if (site_of(parts_.engine.settings(), passed.id) == nullptr) {
    co_return refusal(404, "There is no site of this name.");
  }
  if (!may_act(passed.session, {passed.id})) co_return refusal(403, not_own);
  const auto refused = passed.page == BoardPage::shelve ? shelve(passed) : unshelve(passed);
  if (refused) co_return *refused;
  co_await stored(parts_.committer);
  co_return see_other("/site/" + passed.id);
}

boost::asio::awaitable<BoardAnswer> BoardActs::acknowledge(const Passed& passed) {
  const auto id = outage_called(parts_.engine, passed.id);
  const auto subject = id ? subject_of(parts_.engine, *id) : std::nullopt;
  if (!subject) co_return no_outage();
  const auto sites = sites_of_subject(parts_.engine.settings(), word(subject->scope),
                                      subject_id(parts_.engine.watch().plan(), *subject));
  if (!may_act(passed.session, sites)) co_return refusal(403, not_own);
  const auto done = parts_.engine.acknowledge(*id, {doer(passed.session), AnswerWay::board});
  if (!done) co_return refusal(409, "This outage is not running any more.");
  co_await stored(parts_.committer);
  co_return see_other("/outage/" + passed.id);
}

boost::asio::awaitable<BoardAnswer> BoardActs::note(const Passed& passed) {
  auto text = clean_text(form_value(passed.form, "text"), limits::note_chars_max);
  if (text.empty()) {
    co_return refusal(400, "A note has 1 to " + std::to_string(limits::note_chars_max) +
                               " characters. Go back and write it again.");
  }
  co_return co_await write_down(passed, note_kind, std::move(text));
}

boost::asio::awaitable<BoardAnswer> BoardActs::mark(const Passed& passed) {
  const auto wanted = form_value(passed.form, "false");
  if (wanted != "yes" && wanted != "no") co_return refusal(400, "Say whether it was false.");
  co_return co_await write_down(passed, wanted == "yes" ? false_kind : true_kind, "");
}

/// A line of the outage's record; it may be long over.
boost::asio::awaitable<BoardAnswer> BoardActs::write_down(const Passed& passed, const char* act,
                                                          std::string text) {
  const auto id = outage_called(parts_.engine, passed.id);
  if (!id) co_return no_outage();
  std::function<Result<std::optional<About>>(Store&)> reading = [number = *id](Store& store) {
    return about(store, number);
  };
  const auto found = co_await ask_store(parts_.store, std::move(reading));
  if (!found) co_return refusal(503, "The record cannot be read now: " + found.error().text);
  if (!found.value()) co_return no_outage();
  const About& what = *found.value();
  const auto sites = sites_of_subject(parts_.engine.settings(), what.scope, what.subject);
  if (!may_act(passed.session, sites)) co_return refusal(403, not_own);
  DecisionRow row;
  row.at = parts_.clock.wall_now();
  row.kind = act;
  row.scope = what.scope;
  row.subject = what.subject;
  row.outage = *id;
  boost::json::object line{{"at", to_rfc3339(row.at)},
                           {"decision", act},
                           {"scope", row.scope},
                           {"subject", row.subject},
                           {"outage", outage_text(parts_.engine.watch().plan(), *id)},
                           {"by", doer(passed.session)}};
  if (!text.empty()) line["text"] = text;
  row.json = boost::json::serialize(line);
  Batch batch;
  batch.decisions.push_back(std::move(row));
  parts_.committer.now(std::move(batch), [](bool) {});
  say(Level::info, "written_down",
      std::string(act) + " of " + passed.id + " by " + ebbwatch::quoted(doer(passed.session)) +
          ".");
  co_await stored(parts_.committer);
  co_return see_other("/outage/" + passed.id);
}

std::optional<BoardAnswer> BoardActs::shelve(const Passed& passed) {
  const auto& settings = parts_.engine.settings();
  ShelfWish wish;
  wish.subject = form_value(passed.form, "subject");
  const auto slash = wish.subject.find('/');
  const auto sites = slash == std::string::npos
                         ? std::vector<std::string>()
                         : sites_of_subject(settings, wish.subject.substr(0, slash),
                                            wish.subject.substr(slash + 1));
  if (sites != std::vector<std::string>{passed.id}) {
    return refusal(404, "This site has no such tank or controller.");
  }
  wish.reason = clean_text(form_value(passed.form, "reason"), limits::reason_chars_max);
  if (wish.reason.empty() || wish.reason.find('\n') != std::string::npos) {
    return refusal(400, "Say why, in one line of at most " +
                            std::to_string(limits::reason_chars_max) + " characters.");
  }
  const WallTime now = parts_.clock.wall_now();
  wish.until = end_of_shelf(passed.form, now);
  if (!wish.until || *wish.until <= now || *wish.until - now > limits::shelf_time_max) {
    return refusal(400, "Say for how long: the end lies ahead, within " +
                            duration_text(limits::shelf_time_max) + ".");
  }
  wish.by = doer(passed.session);
  const auto done = parts_.engine.put_away(wish);
  if (!done) return refusal(409, done.error().text);
  return std::nullopt;
}

std::optional<BoardAnswer> BoardActs::unshelve(const Passed& passed) {
  const auto subject = form_value(passed.form, "subject");
  for (const auto& row : parts_.engine.shelves()) {
    if (row.scope + "/" + row.subject != subject) continue;
    const auto sites = sites_of_subject(parts_.engine.settings(), row.scope, row.subject);
    if (sites != std::vector<std::string>{passed.id}) break;
    const auto done = parts_.engine.put_back(subject, Shelf::Kind::shelved, doer(passed.session));
    if (done) return std::nullopt;
    break;
  }
  return refusal(409, "Nothing of this site that is called so is on the shelf any more.");
}

boost::asio::awaitable<BoardAnswer> BoardActs::drill(const Passed& passed) {
  const auto begun = parts_.engine.drill(
      {form_value(passed.form, "site"), form_value(passed.form, "to"), doer(passed.session)});
  if (!begun) co_return refusal(409, begun.error().text);
  co_await stored(parts_.committer);
  co_return see_other("/drills");
}

}  // namespace ebbwatch
