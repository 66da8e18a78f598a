// Who gets past the board's gate: cookies, keys of read-only addresses, bearer keys, form tokens,
// where to go after login (board/gate.h). Lines: method and target, Cookie, Authorization; the rest
// is the body. $VIEWER, $HOST are sessions, $FORM the host's form token, $WALL a good key, $LOGIN
// and $TICKET the two halves of the login form's token.
#include <algorithm>

#include "board/gate.h"
#include "fuzz.h"
#include "unit/board/chance.h"

using namespace ebbwatch;

namespace {

constexpr WallTime now{1'785'067'200'000'000};
constexpr std::string_view wall_key = "wall-key-0123456789abcdef";

struct Board {
  Board() : sessions(chance), gate(sessions, keys, chance) {
    viewer = sessions.open(Role::viewer, "Ada", now);
    host = sessions.open(Role::host, "Bo", now);
    keys.use({{"hall", wall_key_hash(wall_key), now}});
    ticket = gate.login_ticket({});
  }
  std::string filled(std::string_view text) const {
    std::string out(text);
    for (const auto& [name, value] : std::initializer_list<std::pair<const char*, std::string>>{
             {"$VIEWER", viewer.token},
             {"$HOST", host.token},
             {"$FORM", host.session.form_token},
             {"$WALL", std::string(wall_key)},
             {"$LOGIN", ticket.cookie},
             {"$TICKET", ticket.form_token}}) {
      out = fuzz::replaced(out, name, value);
    }
    return out;
  }
  test::RepeatableChance chance;
  Sessions sessions;
  WallKeys keys;
  Gate gate;
  Sessions::Opened viewer, host;
  Gate::LoginTicket ticket;
};

BoardRequest request_of(fuzz::Input& in, const Board& board) {
  BoardRequest out;
  const std::string first = board.filled(in.line());
  const auto blank = std::min(first.find(' '), first.size());
  const auto mark = std::min(first.find('?', blank), first.size());
  out.method = first.substr(0, blank);
  out.path = blank < mark ? first.substr(blank + 1, mark - blank - 1) : "";
  out.query = mark < first.size() ? first.substr(mark + 1) : "";
  out.cookie = board.filled(in.line());
  out.authorization = board.filled(in.line());
  out.body = board.filled(in.rest());
  return out;
}

bool shows(const BoardRequest& request, std::string_view secret) {
  return request.path.find(secret) != std::string::npos ||
         request.cookie.find(secret) != std::string::npos ||
         request.authorization.find(secret) != std::string::npos;
}

void look_at_passed(const Passed& passed, const BoardRequest& request, const Board& board) {
  const auto match = find_route(request.method, request.path);
  MUST(match.route != nullptr && match.route->page == passed.page);
  const Role role = passed.session.role;
  MUST(role >= match.route->least);
  MUST(role != Role::viewer || shows(request, board.viewer.token) || shows(request, wall_key));
  MUST(role != Role::host || cookie_value(request.cookie, session_cookie) == board.host.token);
  MUST(role != Role::keyholder);
  if (request.method != "POST") return;
  const auto token = form_value(passed.form, "form_token");
  MUST(!token.empty());
  if (passed.page == BoardPage::enter) {
    MUST(token == board.ticket.form_token);
  } else {
    MUST(token == passed.session.form_token);
  }
}

void look_at_refusal(const BoardAnswer& answer, const Board& board) {
  static const std::vector<int> known{303, 400, 401, 403, 404, 405};
  MUST(std::find(known.begin(), known.end(), answer.status) != known.end());
  for (const auto& [name, value] : answer.fields) {
    MUST(fuzz::is_field_value(value));
    if (name == "Location") MUST(value.starts_with("/login"));
  }
  MUST(answer.body.find(board.host.token) == std::string::npos);
}

/// RFC 3986 §4.2: a path, and never the name of another host.
void look_at_return(std::string_view wanted) {
  const std::string to = safe_return(wanted);
  MUST(to.starts_with('/') && !to.starts_with("//") && !to.starts_with("/\\"));
  MUST(to.find_first_of("\r\n") == to.npos);
  MUST(to == "/" || to == wanted);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  static const Board board;
  const BoardRequest request = request_of(in, board);
  const auto verdict = board.gate.admit(request, now);
  if (const auto* passed = std::get_if<Passed>(&verdict)) {
    look_at_passed(*passed, request, board);
  } else {
    look_at_refusal(std::get<BoardAnswer>(verdict), board);
  }
  look_at_return(request.query);
  look_at_return(request.path);
  // RFC 6265 §4.1.1: what was set is found again, whatever stands before it.
  if (request.cookie.find(session_cookie) == std::string::npos) {
    const std::string field = request.cookie + "; " + session_cookie + "=abc; other=1";
    MUST(cookie_value(field, session_cookie) == "abc");
  }
  MUST(request.cookie.find(cookie_value(request.cookie, login_cookie)) != std::string::npos);
  return 0;
}
