#include "app/gateway_calls.h"

#include <algorithm>

namespace ebbwatch {
namespace {

constexpr std::size_t status_chars_max = 40;

HttpResponse plain(int status, std::string body) {
  HttpResponse out;
  out.status = status;
  out.content_type = "text/plain; charset=utf-8";
  out.body = std::move(body);
  out.fields = {{"Cache-Control", "no-store"}};
  return out;
}

HttpResponse missing(const std::string& names) {
  return plain(400, "The call lacks " + names + ". The keys under calls: name the fields.\n");
}

}  // namespace

Result<void> GatewayCalls::use(const Settings& settings) {
  std::map<std::string, Door> doors;
  for (const NotifierSettings& one : settings.notifiers) {
    if (one.kind != NotifierKind::sms_gateway || !one.sms_gateway.calls) continue;
    const auto secret = read_door_secret(*one.sms_gateway.calls, settings.file);
    if (!secret) {
      return Error{secret.error().code, "notifier " + one.id + ": " + secret.error().text};
    }
    doors[one.id] = {sha256(secret.value()), *one.sms_gateway.calls};
  }
  doors_ = std::move(doors);
  return {};
}

boost::asio::awaitable<HttpResponse> GatewayCalls::handle(HttpRequest request) {
  HttpResponse response = answer(request);
  if (stored_ && response.status < 300) co_await stored_();
  co_return response;
}

HttpResponse GatewayCalls::answer(const HttpRequest& request) {
  const auto call = read_door_path(request.path);
  if (!call) return unknown(request);
  const auto found = doors_.find(call->notifier);
  const Sha256 given = sha256(call->secret);
  if (found == doors_.end() ||
      !equal_in_constant_time(to_hex(given), to_hex(found->second.secret_hash))) {
    return unknown(request);
  }
  if (request.method != "GET" && request.method != "POST") {
    HttpResponse out = plain(405, "GET or POST.\n");
    out.fields.emplace_back("Allow", "GET, POST");
    return out;
  }
  const auto type = request.field("content-type").value_or("");
  const auto fields = door_fields(type, request.query, request.body);
  if (!fields) return plain(400, fields.error().text + "\n");
  return call->kind == DoorCall::Kind::text ? text(*call, found->second, fields.value())
                                            : report(*call, found->second, fields.value());
}

HttpResponse GatewayCalls::unknown(const HttpRequest& request) {
  const Span wait = wrong_.failed(address_group(request.remote_address), clock_.now());
  HttpResponse out = plain(wait.us > 0 ? 429 : 404, "Nothing is here.\n");
  if (wait.us > 0) {
    const auto seconds = std::max<std::int64_t>(1, (wait.us + 999'999) / 1'000'000);
    out.fields.emplace_back("Retry-After", std::to_string(seconds));
  }
  return out;
}

HttpResponse GatewayCalls::text(const DoorCall& call, const Door& door, const Fields& fields) {
  const auto sender = fields.find(door.settings.sender);
  const auto words = fields.find(door.settings.text);
  if (sender == fields.end() || words == fields.end()) {
    return missing(door.settings.sender + " or " + door.settings.text);
  }
  // In a query that was not encoded, the plus of a number became a blank.
  std::string from = sender->second;
  if (from.starts_with(' ')) from.front() = '+';
  return plain(200, texts_.incoming_text(call.notifier, from, words->second).reply);
}

HttpResponse GatewayCalls::report(const DoorCall& call, const Door& door, const Fields& fields) {
  const auto status = fields.find(door.settings.status);
  if (status == fields.end()) return missing(door.settings.status);
  HttpResponse done;
  const ReportWord word = report_word(door.settings, status->second);
  if (word == ReportWord::on_its_way) return done;
  const DeliveryReport report{call.notifier, call.notice, word == ReportWord::arrived,
                              status->second.substr(0, status_chars_max)};
  if (reported_(report)) return done;
  HttpResponse later = plain(503, "The answer to the text itself has not come yet.\n");
  later.fields.emplace_back("Retry-After", "5");
  return later;
}

}  // namespace ebbwatch
