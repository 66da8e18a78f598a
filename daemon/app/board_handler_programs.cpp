// The board's part for programs: JSON, figures, calendars.
#include <charconv>

#include "app/ask_store.h"
#include "app/board_handler.h"
#include "app/board_programs.h"
#include "app/board_record.h"
#include "board/assets.h"
#include "core/limits.h"

namespace ebbwatch {
namespace {

constexpr const char* json_type = "application/json";
constexpr std::size_t days_max = 366;

BoardAnswer found(std::optional<std::string> text) {
  if (!text) return problem_answer(404, "There is none of this identifier.");
  return text_answer(std::move(*text), json_type);
}

BoardAnswer unreadable(const Error& error) {
  return problem_answer(503, "The record cannot be read just now: " + error.text);
}

/// 30 when it is not given; 0 when it is no number from 1 to 366.
std::size_t days_of(const FormFields& query) {
  const auto text = form_value(query, "days");
  if (text.empty()) return 30;
  std::size_t days = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), days);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && days <= days_max ? days : 0;
}

}  // namespace

boost::asio::awaitable<BoardAnswer> BoardHandler::program(const Passed& passed) {
  switch (passed.page) {
    case BoardPage::api_description:
      co_return text_answer(std::string(openapi_json), json_type);
    case BoardPage::api_sites:
      co_return text_answer(sites_json(input()), json_type);
    case BoardPage::api_tanks:
      co_return text_answer(tanks_json(input()), json_type);
    case BoardPage::api_controllers:
      co_return text_answer(controllers_json(input()), json_type);
    case BoardPage::api_site:
      co_return found(site_json(input(), passed.id));
    case BoardPage::api_tank:
      co_return found(tank_json(input(), passed.id));
    case BoardPage::api_controller:
      co_return found(controller_json(input(), passed.id));
    case BoardPage::api_outages:
      co_return co_await api_outages(passed);
    case BoardPage::api_outage:
      co_return co_await api_outage(passed);
    case BoardPage::metrics:
      co_return text_answer(metrics_text(metric_families(input().status)), metrics_type);
    default:
      co_return co_await calendar();
  }
}

boost::asio::awaitable<BoardAnswer> BoardHandler::api_outages(const Passed& passed) {
  const std::size_t days = days_of(passed.query);
  if (days == 0) co_return problem_answer(400, "days: write a whole number from 1 to 366.");
  std::function<Result<report::Record>(Store&)> reading =
      [settings = parts_.engine.settings(), days, now = parts_.clock.wall_now()](Store& store) {
        return performance_record(store, settings, days, now);
      };
  const auto record = co_await ask_store(parts_.store, std::move(reading));
  if (!record) co_return unreadable(record.error());
  co_return text_answer(outages_json(input(), record.value()), json_type);
}

boost::asio::awaitable<BoardAnswer> BoardHandler::api_outage(const Passed& passed) {
  const auto id = outage_called(parts_.engine, passed.id);
  if (!id) co_return found(std::nullopt);
  std::function<Result<OutageRows>(Store&)> reading = [number = *id](Store& store) {
    return rows_of(store, number);
  };
  const auto rows = co_await ask_store(parts_.store, std::move(reading));
  if (!rows) co_return unreadable(rows.error());
  co_return found(outage_json(input(), *id, rows.value()));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::calendar() {
  std::function<Result<std::vector<DrillRow>>(Store&)> reading = [](Store& store) {
    HistoryQuery query;
    query.newest = limits::board_drills_max;
    return store.drills(query);
  };
  const auto rows = co_await ask_store(parts_.store, std::move(reading));
  if (!rows) co_return unreadable(rows.error());
  const auto in = input();
  co_return text_answer(
      calendar_feed("ebbwatch " + in.status.settings.watcher.name,
                    calendar_events(in.status, rows.value()), parts_.clock.wall_now()),
      "text/calendar; charset=utf-8");
}

}  // namespace ebbwatch
