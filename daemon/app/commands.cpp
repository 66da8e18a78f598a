#include "app/commands.h"

#include <boost/json/array.hpp>
#include <boost/json/serialize.hpp>
#include <charconv>

#include "app/status_view.h"
#include "app/stored.h"
#include "core/wording.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

std::string member(const json::object& request, std::string_view key) {
  const json::value* found = request.if_contains(key);
  return found && found->is_string() ? std::string(found->get_string()) : std::string();
}

std::string error_answer(const std::string& text) {
  return json::serialize(json::object{{"error", text}});
}

/// "harbour-17" or "17".
std::optional<OutageId> parse_outage(std::string_view text, const std::string& watcher) {
  if (text.substr(0, watcher.size() + 1) == watcher + "-") text.remove_prefix(watcher.size() + 1);
  OutageId id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc() || end != text.data() + text.size() || id == 0) return std::nullopt;
  return id;
}

}  // namespace

boost::asio::awaitable<std::string> Commands::handle(json::object request) {
  const std::string command = member(request, "command");
  if (command == "status") co_return status();
  if (auto done = act(command, request)) {
    co_await stored(parts_.committer);
    co_return std::move(*done);
  }
  if (command == "keys") {
    const auto reread = parts_.reload_keys();
    co_return reread ? json::serialize(json::object{{"done", "The keys were read again."}})
                     : error_answer(reread.error().text);
  }
  co_return error_answer("Unknown command '" + command + "'.");
}

std::optional<std::string> Commands::act(const std::string& command, const json::object& request) {
  if (command == "acknowledge") return acknowledge(request);
  if (command == "shelve") return put_away(request, Shelf::Kind::shelved);
  if (command == "unshelve") return put_back(request, Shelf::Kind::shelved);
  if (command == "out_of_service") return put_away(request, Shelf::Kind::out_of_service);
  if (command == "in_service") return put_back(request, Shelf::Kind::out_of_service);
  if (command == "drill") return drill(request);
  if (command == "stand_in") return stand_in(request);
  if (command == "end_stand_in") return end_stand_in(request);
  return std::nullopt;
}

std::string Commands::status() {
  const StatusInput input{parts_.engine.settings(),
                          parts_.engine.watch(),
                          parts_.clock,
                          parts_.engine.dispatcher().health(),
                          parts_.committer.health(),
                          configuration_refused_,
                          parts_.engine.shelves(),
                          unmet_wishes_,
                          &parts_.engine.dispatcher().lateness(),
                          &parts_.engine.witnessing(),
                          &parts_.engine.telling(),
                          parts_.engine.ways(),
                          parts_.engine.drills().newest(),
                          &parts_.doors,
                          parts_.engine.stand_ins(),
                          set_aside_,
                          &parts_.engine.readings()};
  return json::serialize(status_json(input));
}

std::string Commands::acknowledge(const json::object& request) {
  const std::string by = member(request, "by");
  if (by.empty()) return error_answer("Say who takes it on: --by NAME.");
  const auto& watcher = parts_.engine.settings().watcher.name;
  auto outage = parts_.engine.find_outage(member(request, "outage"));
  if (!outage) outage = parse_outage(member(request, "outage"), watcher);
  if (!outage) {
    return error_answer("'" + member(request, "outage") + "' is not an outage; it looks like " +
                        watcher + "-17.");
  }
  const bool exercise = parts_.engine.drills().open(*outage) != nullptr;
  const auto done = parts_.engine.acknowledge(*outage, {by, AnswerWay::command_line});
  if (!done) return error_answer(done.error().text);
  if (exercise) {
    return json::serialize(json::object{
        {"done", by + " has got the exercise. Which way brought it is not known from here; the "
                      "link or the code in the notice proves that."}});
  }
  return json::serialize(json::object{
      {"done", parts_.engine.outage_name(*outage) + " is taken on by " + by +
                   ". The others who were told hear so now, and of the recovery later."}});
}

std::string Commands::drill(const json::object& request) {
  const DrillWish wish{member(request, "site"), member(request, "to"), member(request, "by")};
  const auto begun = parts_.engine.drill(wish);
  if (!begun) return error_answer(begun.error().text);
  const DrillRow& row = begun.value();
  json::array told;
  std::string names;
  for (const auto& one : words_of(row.told)) {
    told.emplace_back(one);
    names += (names.empty() ? "" : ", ") + one;
  }
  const std::string number = outage_text(parts_.engine.watch().plan(), row.outage);
  return json::serialize(json::object{
      {"done", "The exercise " + number + " goes to " + names +
                   " now, by every way to them. Each of them answers as the notice says; 'ebbwatch "
                   "status' shows what has been proven."},
      {"outage", number},
      {"told", std::move(told)}});
}

std::string Commands::stand_in(const json::object& request) {
  const std::string from = member(request, "from");
  StandInWish wish{member(request, "absent"), member(request, "stand_in"), {}, {}, {}};
  if (!from.empty()) wish.from = from_rfc3339(from);
  wish.until = from_rfc3339(member(request, "until"));
  wish.by = member(request, "by");
  const auto row = parts_.engine.stand_in(wish);
  if (!row) return error_answer(row.error().text);
  const StandInRow& done = row.value();
  return json::serialize(json::object{{"done", done.stand_in + " is called in place of " +
                                                   done.absent + " from " + to_rfc3339(done.since) +
                                                   " until " + to_rfc3339(done.until) + "."}});
}

std::string Commands::end_stand_in(const json::object& request) {
  const auto row = parts_.engine.end_stand_in(member(request, "absent"));
  if (!row) return error_answer(row.error().text);
  return json::serialize(
      json::object{{"done", row.value().absent + " is called again as the lists say."}});
}

std::string Commands::put_away(const json::object& request, Shelf::Kind kind) {
  ShelfWish wish{
      member(request, "subject"), kind, {}, member(request, "reason"), member(request, "by")};
  if (kind == Shelf::Kind::shelved) wish.until = from_rfc3339(member(request, "until"));
  const auto row = parts_.engine.put_away(wish);
  if (!row) return error_answer(row.error().text);
  const ShelfRow& done = row.value();
  const std::string what = "The " + done.scope + " " + done.subject;
  if (!done.until) {
    return json::serialize(json::object{
        {"done", what +
                     " is out of service. Its losses are recorded but not told, until somebody "
                     "runs: ebbwatch in-service " +
                     done.subject}});
  }
  return json::serialize(json::object{
      {"done", what + " is shelved until " + to_rfc3339(*done.until) +
                   ". Its losses are recorded but not told; what is still silent then is told at "
                   "once."},
      {"until", to_rfc3339(*done.until)}});
}

std::string Commands::put_back(const json::object& request, Shelf::Kind kind) {
  const auto row = parts_.engine.put_back(member(request, "subject"), kind, member(request, "by"));
  if (!row) return error_answer(row.error().text);
  return json::serialize(json::object{
      {"done", "The " + row.value().scope + " " + row.value().subject +
                   (kind == Shelf::Kind::shelved ? " is off the shelf." : " is in service again.") +
                   " If it is silent, that is told now."}});
}

}  // namespace ebbwatch
