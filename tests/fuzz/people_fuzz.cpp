// What people and gateways send: links in notices, calls of text message gateways, texts in reply
// (app/answer_page.h, gateway_calls.h, reply_reader.h). First line: method and target, second:
// Content-Type; the rest is the body, and also a text in reply. $LINK and $SECRET stand for the
// token of a link and the secret of a gateway's door.
#include <algorithm>
#include <cstdlib>

#include "app/answer_book.h"
#include "app/answer_page.h"
#include "app/gateway_calls.h"
#include "app/reply_reader.h"
#include "fuzz.h"
#include "notices/answers.h"
#include "unit/ingest/fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

constexpr OutageId outage = 42;
constexpr const char* door_secret = "0123456789abcdef-door";

/// The engine's side, which remembers what it was told.
class Engine final : public AnswerSink, public ReplySink, public IncomingTexts {
 public:
  Question question(OutageId, Language) const override { return {true, "Reef <3", "", "", false}; }
  Language language_of(const std::string&) const override { return Language::english; }
  std::string name_of(const std::string& who) const override { return who + " & son"; }
  bool answer_by_link(const LinkRow& link) override {
    MUST(link.outage == outage && link.keyholder == "ada");
    return ++taken_by_link, true;
  }
  std::vector<OutageId> open_questions() const override { return {outage, outage + 1}; }
  bool waits_for(OutageId which, const std::string&) const override { return which == outage; }
  IncomingAnswer answer_by_text(OutageId which, const KeyholderSettings& who) override {
    MUST(who.id == "ada");
    taken_by_text.push_back(which);
    return {IncomingAnswer::Kind::acknowledged, "yours"};
  }
  IncomingAnswer incoming_text(const std::string& notifier, const std::string&,
                               const std::string&) override {
    MUST(notifier == "texts");
    return ++texts, IncomingAnswer{};
  }
  int taken_by_link = 0, texts = 0, reports = 0;
  std::vector<OutageId> taken_by_text;
};

Settings settings_with_door() {
  ::setenv("EBBWATCH_FUZZ_DOOR", door_secret, 1);
  Settings out;
  out.listen.public_url = "https://watch.example.net";
  out.keyholders.push_back({});
  out.keyholders[0].id = "ada";
  out.keyholders[0].phone = "+15550100";
  NotifierSettings texts;
  texts.id = "texts";
  texts.kind = NotifierKind::sms_gateway;
  texts.sms_gateway.calls.emplace();
  texts.sms_gateway.calls->secret = {SecretSource::Kind::environment, "EBBWATCH_FUZZ_DOOR"};
  out.notifiers.push_back(texts);
  return out;
}

const Settings& settings() {
  static const Settings one = settings_with_door();
  return one;
}

void look_at_field_values(const HttpResponse& answer) {
  for (const auto& [name, value] : answer.fields) MUST(fuzz::is_field_value(value));
}

void follow_link(const HttpRequest& request, const std::string& token, AnswerPage& page,
                 const Engine& engine) {
  if (!request.path.starts_with(AnswerPage::prefix)) return;
  const HttpResponse answer = page.answer(request);
  look_at_field_values(answer);
  const bool right = request.path == std::string(AnswerPage::prefix) + token;
  MUST(engine.taken_by_link == (right && request.method == "POST" ? 1 : 0));
  MUST((answer.status == 200) == (right && (request.method == "GET" || request.method == "HEAD" ||
                                            request.method == "POST")));
  MUST(answer.body.find(token) == answer.body.npos && answer.body.find("<3") == answer.body.npos);
}

void call_door(const HttpRequest& request, GatewayCalls& door, const Engine& engine) {
  const HttpResponse answer = door.answer(request);
  look_at_field_values(answer);
  const bool right =
      request.path.starts_with("/v1/gateway/texts/" + std::string(door_secret) + "/");
  MUST(right || ((answer.status == 404 || answer.status == 429) && engine.texts == 0 &&
                 engine.reports == 0));
  MUST(engine.texts + engine.reports <= 1);
  MUST(answer.body.find(door_secret) == answer.body.npos);
  const auto call = read_door_path(request.path);
  if (!call) return;
  // The one way of writing it.
  std::string path = door_address("/", call->notifier, call->secret);
  path = call->kind == DoorCall::Kind::text ? path + "/text" : report_address(path, call->notice);
  MUST(path == request.path);
}

void look_at_reply(const std::string& text, Engine& engine) {
  const auto codes = codes_in_reply(text);
  for (const auto& code : codes) {
    MUST(code.size() == 4 && text.find(code) != text.npos);
    MUST(std::count(codes.begin(), codes.end(), code) == 1);
  }
  engine.taken_by_text.clear();
  (void)read_reply(settings(), engine, "+1 555 0199", text);
  MUST(engine.taken_by_text.empty());  // Nobody knows this number.
  const IncomingAnswer answer = read_reply(settings(), engine, "001-555-0100", text);
  for (const OutageId which : engine.taken_by_text) {
    MUST(takes_all(text.substr(0, 1024)) ? which == outage
                                         : text.find(AnswerBook::code_of(which)) != text.npos);
  }
  MUST(answer.kind == IncomingAnswer::Kind::acknowledged || engine.taken_by_text.empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  FakeClock clock;
  CountingEntropy entropy;
  Engine engine;
  AnswerBook book(clock, entropy, [](const LinkRow&) {});
  book.use(settings());
  const std::string link = book.link(outage, "ada", "texts");
  const std::string token = link.substr(link.rfind('/') + 1);
  AnswerPage page(book, engine, clock);
  GatewayCalls door(engine, clock, [&](const DeliveryReport& report) {
    MUST(report.notifier == "texts" && report.status.size() <= 40);
    return ++engine.reports, true;
  });
  MUST(door.use(settings()));

  HttpRequest request;
  const std::string first = fuzz::replaced(fuzz::replaced(std::string(in.line()), "$LINK", token),
                                           "$SECRET", door_secret);
  const auto blank = std::min(first.find(' '), first.size());
  request.method = first.substr(0, blank);
  set_target(request, std::string_view(first).substr(std::min(blank + 1, first.size())));
  request.fields = {{"content-type", std::string(in.line())}};
  request.body = in.rest();
  request.remote_address = "192.0.2.7";
  follow_link(request, token, page, engine);
  call_door(request, door, engine);
  look_at_reply(request.body, engine);
  return 0;
}
