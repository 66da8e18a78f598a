#include "app/board_handler.h"

#include "app/ask_store.h"
#include "app/board_record.h"
#include "app/people.h"
#include "board/assets.h"
#include "board/pages.h"
#include "core/limits.h"
#include "crypto/password_hash.h"
#include "report/export.h"
#include "report/strips.h"
#include "reporting/log.h"
#include "settings/plan.h"

namespace ebbwatch {
namespace {

constexpr Span login_cookie_life = Span::of_h(1);

BoardRequest board_request(const HttpRequest& request) {
  return {request.method,
          request.path,
          request.query,
          request.body,
          request.field("cookie").value_or(""),
          address_group(request.remote_address),
          request.field("authorization").value_or("")};
}

HttpResponse http_response(BoardAnswer answer) {
  add_safety_fields(answer);
  HttpResponse out;
  out.status = answer.status;
  out.content_type = std::move(answer.content_type);
  out.body = std::move(answer.body);
  out.fields = std::move(answer.fields);
  return out;
}

BoardAnswer asset(std::string_view bytes, const char* type) {
  BoardAnswer answer;
  answer.content_type = type;
  answer.body = bytes;
  answer.fields.emplace_back("Cache-Control", "no-cache");
  return answer;
}

/// One more while it lives, also when a coroutine is cut off.
class Counted {
 public:
  explicit Counted(std::size_t& counter) : counter_(counter) { ++counter_; }
  ~Counted() { --counter_; }
  Counted(const Counted&) = delete;
  Counted& operator=(const Counted&) = delete;

 private:
  std::size_t& counter_;
};

/// "day", "week" or "month"; a day for anything else.
std::string strips_of(const std::string& asked) {
  return asked == "week" || asked == "month" ? asked : "day";
}
Span strips_span(const std::string& key) {
  return Span::of_days(key == "month" ? 30 : key == "week" ? 7 : 1);
}

BoardAnswer failure(const Error& error) {
  return refusal(503, "The record cannot be read just now: " + error.text);
}

/// The record as one file: CSV, or an array of JSON objects.
BoardAnswer history_file(report::Form form, const std::vector<DecisionRow>& rows) {
  const bool csv = form == report::Form::csv;
  std::string body = csv ? report::decision_head(form) : "[";
  for (const auto& row : rows) {
    if (!csv && body.size() > 1) body += ",";
    body += report::decision_row(form, row);
  }
  if (!csv) body += "]\n";
  auto answer = text_answer(std::move(body),
                            csv ? "text/csv; charset=utf-8; header=present" : "application/json");
  answer.fields.emplace_back("Content-Disposition",
                             csv ? "attachment; filename=\"ebbwatch-history.csv\""
                                 : "attachment; filename=\"ebbwatch-history.json\"");
  return answer;
}

}  // namespace

BoardHandler::BoardHandler(Parts parts)
    : parts_(std::move(parts)),
      sessions_(parts_.entropy),
      gate_(sessions_, wall_keys_, parts_.entropy),
      live_(
          parts_.loop, [this] { return panel_view(input()); },
          random_token(parts_.entropy).substr(0, 8)),
      acts_({parts_.engine, parts_.committer, parts_.store, parts_.clock}) {}

BoardInput BoardHandler::input() const {
  BoardInput in{{parts_.engine.settings(), parts_.engine.watch(), parts_.clock,
                 parts_.engine.dispatcher().health(), parts_.committer.health(),
                 parts_.configuration_refused(), parts_.engine.shelves(), parts_.unmet_wishes(),
                 &parts_.engine.dispatcher().lateness()},
                [this](OutageId id) { return parts_.engine.taken_by(id); },
                [this](TankIndex tank) {
                  return parts_.engine.last_heard_of({Scope::tank, tank.value});
                }};
  in.status.set_aside = parts_.set_aside();
  in.status.readings = &parts_.engine.readings();
  in.status.witnessing = &parts_.engine.witnessing();
  in.status.telling = &parts_.engine.telling();
  return in;
}

void BoardHandler::use(const std::vector<PasswordRow>& passwords,
                       const std::vector<WallAddressRow>& walls) {
  wall_keys_.use(walls);
  passwords_.clear();
  for (const auto& row : passwords) {
    const auto slash = row.role.find('/');  // "keyholder/robin": of this one person.
    const auto role = parse_role(row.role.substr(0, slash));
    if (!role) continue;
    passwords_[row.role] = row;
    sessions_.close_older(*role, row.made_at,
                          slash == std::string::npos ? "" : row.role.substr(slash + 1));
  }
  live_.recheck();
}

Frame BoardHandler::frame_for(const Passed& passed) {
  const auto in = input();
  const WallTime now = parts_.clock.wall_now();
  return {parts_.engine.settings().watcher.name,
          passed.session.role,
          passed.session.person,
          passed.session.form_token,
          moment_of(now, now),
          live_.refresh(),
          remarks_of(in.status),
          own_sites(parts_.engine.settings(), passed.session),
          passed.key};
}

boost::asio::awaitable<HttpResponse> BoardHandler::handle(HttpRequest http) {
  const auto request = board_request(http);
  auto admitted = gate_.admit(request, parts_.clock.wall_now());
  if (auto* refused = std::get_if<BoardAnswer>(&admitted)) {
    co_return http_response(std::move(*refused));
  }
  const auto passed = std::get<Passed>(std::move(admitted));
  const bool stream = passed.page == BoardPage::events || passed.page == BoardPage::wall_events;
  if (stream) co_return events(passed, http);
  co_return http_response(co_await show(passed, request));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::show(const Passed& passed,
                                                       const BoardRequest& request) {
  switch (passed.page) {
    case BoardPage::login:
      co_return login(
          request, {"", "", safe_return(form_value(passed.query, "next")), "", "", "", true}, 200);
    case BoardPage::enter:
      co_return co_await enter(passed, request);
    case BoardPage::leave:
      co_return leave(request);
    case BoardPage::style:
      co_return asset(board_css, "text/css; charset=utf-8");
    case BoardPage::script:
      co_return asset(board_js, "text/javascript; charset=utf-8");
    case BoardPage::icon:
      co_return asset(board_svg, "image/svg+xml");
    case BoardPage::panel:
    case BoardPage::wall:
      co_return panel(passed);
    case BoardPage::site:
      co_return co_await site(passed);
    case BoardPage::outage:
      co_return co_await outage(passed);
    case BoardPage::history:
    case BoardPage::history_csv:
    case BoardPage::history_json:
      co_return co_await history(passed);
    case BoardPage::performance:
      co_return co_await performance(passed);
    case BoardPage::drills:
      co_return co_await drills(passed);
    case BoardPage::acknowledge:
    case BoardPage::note:
    case BoardPage::mark:
    case BoardPage::shelve:
    case BoardPage::unshelve:
    case BoardPage::drill:
      co_return co_await acts_.act(passed);
    default:
      co_return co_await program(passed);
  }
}

BoardAnswer BoardHandler::login(const BoardRequest& request, LoginView view, int status) {
  const auto ticket = gate_.login_ticket(request);
  view.watcher = parts_.engine.settings().watcher.name;
  view.form_token = ticket.form_token;
  view.password_set = !passwords_.empty();
  auto answer = html_answer(login_page(view), status);
  answer.fields.emplace_back("Set-Cookie",
                             set_cookie(login_cookie, ticket.cookie, login_cookie_life, false));
  return answer;
}

/// The password to compare with: a keyholder who has one of their own enters by no other.
std::string BoardHandler::password_key(Role role, const std::string& keyholder) const {
  const std::string own = std::string(word(role)) + "/" + keyholder;
  return passwords_.count(own) != 0 ? own : word(role);
}

/// The hash takes tenths of a second, which the loop cannot wait.
boost::asio::awaitable<bool> BoardHandler::right_password(std::string key, std::string password) {
  const Counted waiting(logins_waiting_);
  const auto known = passwords_.find(key);
  const auto stored = known == passwords_.end() ? std::string() : known->second.hash;
  std::function<bool(Store&)> compare = [password, stored](Store&) {
    return password_matches(password, stored);
  };
  co_return co_await ask_store(parts_.store, std::move(compare));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::enter(const Passed& passed,
                                                        const BoardRequest& request) {
  LoginView view;
  view.next = safe_return(form_value(passed.form, "next"));
  view.person = clean_text(form_value(passed.form, "person"), limits::name_chars_max);
  view.role = form_value(passed.form, "role");
  const auto role = parse_role(view.role);
  const auto password = form_value(passed.form, "password");
  if (view.person.empty() || view.person.find('\n') != std::string::npos || !role ||
      password.size() > limits::board_password_bytes_max) {
    view.complaint = "Give your name (at most 80 characters), a role and its password.";
    co_return login(request, std::move(view), 400);
  }
  const Span wait = brake_.wait(request.sender, parts_.clock.now());
  if (wait > Span{} || logins_waiting_ >= limits::logins_waiting_max) {
    const auto seconds = std::to_string((wait.us + 999'999) / 1'000'000 + (wait > Span{} ? 0 : 2));
    view.complaint = "Too many wrong passwords. Try again in " + seconds + " s.";
    auto answer = login(request, std::move(view), 429);
    answer.fields.emplace_back("Retry-After", seconds);
    co_return answer;
  }
  const auto keyholder = keyholder_called(parts_.engine.settings(), view.person);
  if (!co_await right_password(password_key(*role, keyholder), password)) {
    brake_.wrong(request.sender, parts_.clock.now());
    say(Level::info, "board_login_refused",
        "Wrong password of the role " + std::string(word(*role)) + " from " + request.sender + ".");
    view.complaint = "That is not the password of this role.";
    co_return login(request, std::move(view), 403);
  }
  brake_.right(request.sender);
  if (*role == Role::keyholder && keyholder.empty()) {
    view.complaint = "No keyholder is called so. Write your name as the watcher's settings do.";
    co_return login(request, std::move(view), 403);
  }
  const auto opened = sessions_.open(*role, view.person, parts_.clock.wall_now(), keyholder);
  say(Level::info, "board_login",
      quoted(view.person) + " came in as " + word(*role) + " from " + request.sender + ".");
  auto answer = see_other(view.next);
  answer.fields.emplace_back(
      "Set-Cookie", set_cookie(session_cookie, opened.token,
                               opened.session.expires_at - opened.session.opened_at, false));
  co_return answer;
}

BoardAnswer BoardHandler::leave(const BoardRequest& request) {
  (void)sessions_.close(cookie_value(request.cookie, session_cookie));
  auto answer = see_other("/login");
  answer.fields.emplace_back("Set-Cookie", set_cookie(session_cookie, "", {}, false));
  return answer;
}

BoardAnswer BoardHandler::panel(const Passed& passed) {
  const Frame frame = frame_for(passed);
  return html_answer(panel_page(frame, panel_view(input())));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::site(const Passed& passed) {
  auto view = site_view(input(), passed.id);
  if (!view) co_return refusal(404, "There is no site of this name.");
  view->strips_of = strips_of(form_value(passed.query, "strips"));
  using Strips = std::vector<charts::StripChart>;
  // The settings may be read again while the strips are drawn.
  const WallTime now = parts_.clock.wall_now();
  std::function<Result<Strips>(Store&)> drawing =
      [settings = parts_.engine.settings(), id = passed.id, now,
       back = strips_span(view->strips_of)](Store& store) -> Result<Strips> {
    return report::tank_strips(store, settings, *site_of(settings, id), "", {now - back, now});
  };
  auto strips = co_await ask_store(parts_.store, std::move(drawing));
  if (!strips) {
    view->complaint = "The strips cannot be drawn now: " + strips.error().text;
  } else {
    for (std::size_t i = 0; i < view->tanks.size() && i < strips.value().size(); ++i) {
      view->tanks[i].strip = std::move(strips.value()[i]);
    }
  }
  co_return html_answer(site_page(frame_for(passed), *view));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::outage(const Passed& passed) {
  const auto id = outage_called(parts_.engine, passed.id);
  if (!id) co_return refusal(404, "There is no such outage.");
  std::function<Result<OutageRows>(Store&)> reading = [number = *id](Store& store) {
    return rows_of(store, number);
  };
  const auto rows = co_await ask_store(parts_.store, std::move(reading));
  if (!rows) co_return failure(rows.error());
  const auto view = outage_view(input(), *id, rows.value());
  if (!view) co_return refusal(404, "There is no such outage.");
  co_return html_answer(outage_page(frame_for(passed), *view));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::history(const Passed& passed) {
  HistoryView view;
  view.subject = form_value(passed.query, "subject");
  view.from = form_value(passed.query, "from");
  view.until = form_value(passed.query, "until");
  view.kind = form_value(passed.query, "kind");
  view.words = form_value(passed.query, "words");
  const auto query = history_query(view);
  if (view.complaint.empty()) {
    std::function<Result<std::vector<DecisionRow>>(Store&)> reading = [query](Store& store) {
      return store.decisions(query);
    };
    const auto rows = co_await ask_store(parts_.store, std::move(reading));
    if (!rows) co_return failure(rows.error());
    if (passed.page != BoardPage::history) {
      const auto form =
          passed.page == BoardPage::history_csv ? report::Form::csv : report::Form::json;
      co_return history_file(form, history_rows(parts_.engine.settings(), rows.value(), view,
                                                parts_.clock.wall_now()));
    }
    view.lines =
        history_lines(parts_.engine.settings(), rows.value(), view, parts_.clock.wall_now());
  }
  co_return html_answer(history_page(frame_for(passed), view));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::performance(const Passed& passed) {
  const auto asked = form_value(passed.query, "days");
  const std::size_t days = asked == "365" ? 365 : asked == "90" ? 90 : 30;
  std::function<Result<report::Record>(Store&)> reading =
      [settings = parts_.engine.settings(), days, now = parts_.clock.wall_now()](Store& store) {
        return performance_record(store, settings, days, now);
      };
  const auto record = co_await ask_store(parts_.store, std::move(reading));
  if (!record) co_return failure(record.error());
  co_return html_answer(
      performance_page(frame_for(passed), performance_view(record.value(), days)));
}

boost::asio::awaitable<BoardAnswer> BoardHandler::drills(const Passed& passed) {
  std::function<Result<std::vector<DrillRow>>(Store&)> reading = [](Store& store) {
    HistoryQuery query;
    query.newest = limits::board_drills_max;
    return store.drills(query);
  };
  const auto rows = co_await ask_store(parts_.store, std::move(reading));
  if (!rows) co_return failure(rows.error());
  co_return html_answer(
      drills_page(frame_for(passed), drills_view(parts_.engine.settings(), parts_.engine.ways(),
                                                 rows.value(), parts_.clock.wall_now())));
}

HttpResponse BoardHandler::events(const Passed& passed, const HttpRequest& request) {
  auto seen = request.field("last-event-id").value_or("");
  if (seen.empty()) seen = form_value(passed.query, "after");
  const auto welcome = [this, key = passed.key,
                        token =
                            cookie_value(request.field("cookie").value_or(""), session_cookie)] {
    if (!key.empty()) return wall_keys_.good(key);
    return sessions_.find(token, parts_.clock.wall_now()) != nullptr;
  };
  auto stream = live_.open(seen, welcome);
  if (!stream) {
    auto answer = refusal(503, "Too many pages are open. Close one, or wait.");
    answer.fields.emplace_back("Retry-After", "30");
    return http_response(std::move(answer));
  }
  BoardAnswer answer;
  answer.content_type = "text/event-stream";
  answer.fields.emplace_back("X-Accel-Buffering", "no");
  auto out = http_response(std::move(answer));
  out.stream = std::move(stream);
  return out;
}

}  // namespace ebbwatch
