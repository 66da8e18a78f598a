// Links, the pages behind them, and texts in reply.
#include <doctest/doctest.h>

#include <deque>

#include "app/answer_page.h"
#include "app/reply_reader.h"

using namespace ebbwatch;

namespace {

class FixedClock final : public Clock {
 public:
  Instant now() const override { return now_; }
  WallTime wall_now() const override { return WallTime{1'700'000'000'000'000}; }
  Instant now_{5'000'000'000};
};

class CountingEntropy final : public Entropy {
 public:
  void fill(std::span<std::uint8_t> bytes) override {
    for (auto& byte : bytes) byte = ++last_;
  }

 private:
  std::uint8_t last_ = 0;
};

Settings people() {
  Settings settings;
  settings.listen.public_url = "https://watch.example.net";
  settings.keyholders = {{"robin", "Robin", "", "+15550100", {"en"}},
                         {"sam", "Sam <b>", "", "+1 555 0101", {"en"}}};
  return settings;
}

class Desk final : public AnswerSink, public ReplySink {
 public:
  Language language_of(const std::string& keyholder) const override {
    return keyholder == "robin" ? language : Language::english;
  }
  Question question(OutageId outage, Language) const override {
    if (outage != running) return {};
    return {true, "Lagoon <reef>", "since 14:02", taken_by, false};
  }
  std::string name_of(const std::string& keyholder) const override {
    return keyholder == "robin" ? "Robin" : "Sam";
  }
  bool answer_by_link(const LinkRow& link) override {
    taken_by = name_of(link.keyholder);
    ++answers;
    return true;
  }
  std::vector<OutageId> open_questions() const override { return {running}; }
  IncomingAnswer answer_by_text(OutageId, const KeyholderSettings& keyholder) override {
    taken_by = keyholder.id;
    ++answers;
    return {IncomingAnswer::Kind::acknowledged, "You have it."};
  }

  bool waits_for(OutageId outage, const std::string&) const override {
    return outage == running && taken_by.empty();
  }

  OutageId running = 17;
  Language language = Language::english;
  std::string taken_by;
  int answers = 0;
};

struct Scene {
  Scene() { book.use(people()); }
  HttpResponse send(const std::string& method, const std::string& url) {
    HttpRequest request;
    request.method = method;
    set_target(request, url.substr(url.find("/v1/")));
    request.remote_address = "192.0.2.7";
    return page.answer(request);
  }

  FixedClock clock;
  CountingEntropy entropy;
  std::vector<LinkRow> kept;
  AnswerBook book{clock, entropy, [this](LinkRow row) { kept.push_back(std::move(row)); }};
  Desk desk;
  AnswerPage page{book, desk, clock};
};

std::string field(const HttpResponse& response, const std::string& name) {
  for (const auto& [key, value] : response.fields) {
    if (key == name) return value;
  }
  return "";
}

}  // namespace

TEST_CASE("link: only a hash of it is kept, and it outlives the process") {
  Scene scene;
  const std::string url = scene.book.link(17, "robin", "mail");
  CHECK(url == scene.book.link(17, "robin", "mail"));
  CHECK(url != scene.book.link(17, "sam", "mail"));
  REQUIRE(scene.kept.size() == 2);
  const std::string token = url.substr(url.rfind('/') + 1);
  CHECK(token.size() == 27);
  CHECK(scene.kept[0].token_hash.size() == 64);
  CHECK(scene.kept[0].token_hash.find(token) == std::string::npos);
  AnswerBook later(scene.clock, scene.entropy, [](LinkRow) {});
  later.restore(scene.kept);
  REQUIRE(later.find(token) != nullptr);
  CHECK(later.find(token)->keyholder == "robin");
  CHECK(later.find(token.substr(1)) == nullptr);
}

TEST_CASE("link: the page speaks the language of whom it is for") {
  Scene scene;
  scene.desk.language = Language::german;
  const std::string url = scene.book.link(17, "robin", "mail");
  const HttpResponse asked = scene.send("GET", url);
  CHECK(asked.body.find("<html lang=\"de\">") != std::string::npos);
  CHECK(asked.body.find("Kein Kontakt: Lagoon &lt;reef&gt;, ") != std::string::npos);
  CHECK(asked.body.find("Ich kümmere mich darum") != std::string::npos);
  const HttpResponse taken = scene.send("POST", url);
  CHECK(taken.body.find("Robin, Sie haben es übernommen.") != std::string::npos);
  CHECK(scene.send("POST", url).body.find("schon benutzt") != std::string::npos);
  scene.desk.running = 0;
  CHECK(scene.send("GET", url).body.find("Das ist vorbei") != std::string::npos);
  const HttpResponse other = scene.send("GET", scene.book.link(17, "sam", "mail"));
  CHECK(other.body.find("<html lang=\"en\">") != std::string::npos);
}

TEST_CASE("reply: what is answered to a text is in the language of who sent it") {
  Settings settings = people();
  settings.keyholders[0].languages = {"es"};
  Desk desk;
  CHECK(read_reply(settings, desk, "+15550100", "hola").reply ==
        "No se entiende. Para hacerse cargo, responda OK y el código.");
  CHECK(read_reply(settings, desk, "+15550101", "hello").reply.starts_with("Not understood. "));
}

TEST_CASE("link: there is none without a public address, and no code where no text comes in") {
  Scene scene;
  scene.book.use(Settings{});
  CHECK(scene.book.link(17, "robin", "mail").empty());
  CHECK(scene.book.code(17, "robin").empty());
  Settings modem;
  modem.notifiers.resize(1);
  modem.notifiers[0].kind = NotifierKind::gsm_modem;
  scene.book.use(modem);
  CHECK(scene.book.code(17, "robin").size() == 4);
}

TEST_CASE("code: outages that run at the same time have different ones") {
  std::vector<char> seen(10'000, 0);
  for (OutageId id = 1; id <= 9'000; ++id) {
    const std::string code = AnswerBook::code_of(id);
    REQUIRE(code.size() == 4);
    REQUIRE(seen[std::stoul(code)]++ == 0);
  }
}

TEST_CASE("page: looking at it takes nothing on, a form sent takes it on once") {
  Scene scene;
  const std::string url = scene.book.link(17, "robin", "mail");
  for (int look = 0; look < 3; ++look) {
    const HttpResponse shown = scene.send(look == 1 ? "HEAD" : "GET", url);
    CHECK(shown.status == 200);
    CHECK(shown.body.find("<form method=\"post\">") != std::string::npos);
    CHECK(shown.body.find("Lagoon &lt;reef&gt;") != std::string::npos);
    CHECK(field(shown, "Cache-Control") == "no-store");
    CHECK(field(shown, "Referrer-Policy") == "no-referrer");
    CHECK(field(shown, "Content-Security-Policy").find("default-src 'none'") == 0);
  }
  CHECK(scene.desk.answers == 0);
  CHECK(scene.send("POST", url).body.find("you have it") != std::string::npos);
  CHECK(scene.desk.answers == 1);
  CHECK(scene.kept.back().used_at.has_value());
  CHECK(scene.send("POST", url).body.find("has been used") != std::string::npos);
  CHECK(scene.send("GET", url).body.find("<form") == std::string::npos);
  CHECK(scene.desk.answers == 1);
}

TEST_CASE("page: says who has it already, and when it is over") {
  Scene scene;
  const std::string url = scene.book.link(17, "robin", "mail");
  (void)scene.send("POST", scene.book.link(17, "sam", "mail"));
  CHECK(scene.send("GET", url).body.find("Sam has it already") != std::string::npos);
  scene.desk.running = 18;
  CHECK(scene.send("GET", url).status == 410);
  CHECK(scene.send("POST", url).status == 410);
  CHECK(scene.desk.answers == 1);
}

TEST_CASE("page: wrong links are refused, and who tries many must wait") {
  Scene scene;
  const std::string good = scene.book.link(17, "robin", "mail");
  const std::string wrong = "https://watch.example.net/v1/answer/AAAAAAAAAAAAAAAAAAAAAAAAAAA";
  CHECK(scene.send("POST", wrong).status == 404);
  CHECK(scene.send("PUT", good).status == 405);
  HttpResponse last;
  for (int i = 0; i < 12; ++i) last = scene.send("GET", wrong);
  CHECK(last.status == 429);
  CHECK(std::stoi(field(last, "Retry-After")) >= 1);
  CHECK(scene.send("GET", good).status == 200);
  CHECK(scene.desk.answers == 0);
}

TEST_CASE("reply: the code from a keyholder's number takes it on, from another it does not") {
  Desk desk;
  const Settings settings = people();
  const std::string code = AnswerBook::code_of(17);
  using Kind = IncomingAnswer::Kind;
  const auto read = [&](const std::string& from, const std::string& text) {
    return read_reply(settings, desk, from, text).kind;
  };
  CHECK(read("+15550109", "OK " + code) == Kind::unknown_sender);
  CHECK(read("", "OK " + code) == Kind::unknown_sender);
  CHECK(read("+15550100", "Where are you?") == Kind::not_understood);
  CHECK(read("+15550100", "OK " + AnswerBook::code_of(18)) == Kind::unknown_code);
  CHECK(desk.answers == 0);
  for (const char* from : {"+15550100", "15550100", "0015550100", "+1 555-0100"}) {
    CHECK(read(from, "ok  " + code) == Kind::acknowledged);
  }
  CHECK(desk.taken_by == "robin");
  CHECK(read("+15550101", "OK " + AnswerBook::code_of(18) + " " + code) == Kind::acknowledged);
  CHECK(desk.taken_by == "sam");
}

TEST_CASE("reply: OK ALL takes on what the sender was told of and nobody has") {
  Desk desk;
  const Settings settings = people();
  using Kind = IncomingAnswer::Kind;
  const auto read = [&](const std::string& text) {
    return read_reply(settings, desk, "+15550100", text);
  };
  CHECK(read("all").kind == Kind::not_understood);
  CHECK(desk.answers == 0);
  CHECK(read("Ok, all!").reply == "You have 1 outage now. The call lists stop.");
  CHECK(desk.taken_by == "robin");
  CHECK(read("OK ALL").kind == Kind::had_already);
  CHECK(desk.answers == 1);
}
