#include "app/answer_page.h"

#include <algorithm>

#include "crypto/digest.h"
#include "text/markup.h"
#include "words/speech.h"

namespace ebbwatch {
namespace {

constexpr std::string_view style =
    "body{font:18px/1.5 sans-serif;max-width:32em;margin:2em auto;padding:0 1em;color:#222;"
    "background:#fff}button{font:inherit;padding:.8em 1.2em;width:100%;border:0;border-radius:.4em;"
    "background:#0b5c7a;color:#fff}@media(prefers-color-scheme:dark){body{color:#eee;"
    "background:#14181b}button{background:#5fb6d6;color:#06222e}}";

HttpResponse page(int status, const std::string& title, const std::string& body,
                  Language language = Language::english) {
  static const std::string policy =
      "default-src 'none'; style-src 'sha256-" + to_base64(sha256(style)) +
      "'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
  HttpResponse out;
  out.status = status;
  out.content_type = "text/html; charset=utf-8";
  out.body = std::string("<!doctype html><html lang=\"") + code(language) +
             "\"><head><meta charset=\"utf-8\">"
             "<meta name=\"viewport\" content=\"width=device-width\">"
             "<meta name=\"robots\" content=\"noindex\"><title>" +
             escaped(title) + "</title><style>" + std::string(style) + "</style></head><body><h1>" +
             escaped(title) + "</h1>" + body + "</body></html>\n";
  out.fields = {{"Content-Security-Policy", policy},
                {"Referrer-Policy", "no-referrer"},
                {"Cache-Control", "no-store"},
                {"X-Content-Type-Options", "nosniff"}};
  return out;
}

std::string paragraph(const std::string& text) {
  return "<p>" + escaped(text) + "</p>";
}

HttpResponse over(const Speech& say, const AnswerSink::Question& what) {
  return page(410, say(Phrase::page_over),
              paragraph(say(what.drill ? Phrase::page_drill_over : Phrase::page_outage_over)),
              say.language());
}

std::string news(const Speech& say, const AnswerSink::Question& what) {
  if (what.drill) return paragraph(say(Phrase::page_drill_news));
  return paragraph(say(Phrase::page_news, {{"name", what.title}, {"since", what.since}}));
}

}  // namespace

boost::asio::awaitable<HttpResponse> AnswerPage::handle(HttpRequest request) {
  HttpResponse response = answer(request);
  if (stored_ && request.method == "POST" && response.status == 200) co_await stored_();
  co_return response;
}

HttpResponse AnswerPage::answer(const HttpRequest& request) {
  const bool get = request.method == "GET" || request.method == "HEAD";
  if (!get && request.method != "POST") {
    auto out = page(405, "Not like that", paragraph("Open this address in a browser."));
    out.fields.emplace_back("Allow", "GET, HEAD, POST");
    return out;
  }
  const LinkRow* link = book_.find(std::string_view(request.path).substr(prefix.size()));
  if (link == nullptr) return unknown(request);
  return get ? ask(*link) : take(*link);
}

HttpResponse AnswerPage::unknown(const HttpRequest& request) {
  const Span wait = wrong_.failed(address_group(request.remote_address), clock_.now());
  auto out = page(wait.us > 0 ? 429 : 404, "This link is not known",
                  paragraph("It is incomplete, or very old. Copy the whole address from the "
                            "notice, or answer in another way that the notice names."));
  if (wait.us > 0) {
    const auto seconds = std::max<std::int64_t>(1, (wait.us + 999'999) / 1'000'000);
    out.fields.emplace_back("Retry-After", std::to_string(seconds));
  }
  return out;
}

HttpResponse AnswerPage::ask(const LinkRow& link) {
  const Speech say(sink_.language_of(link.keyholder), clock_.wall_now());
  const auto what = sink_.question(link.outage, say.language());
  if (!what.running) return over(say, what);
  const std::string name = sink_.name_of(link.keyholder);
  std::string body = news(say, what);
  if (link.used_at) {
    body += paragraph(say(Phrase::page_link_used, {{"name", name}}));
    return page(200, say(Phrase::page_answered), body, say.language());
  }
  if (!what.taken_by.empty()) {
    body += paragraph(say(Phrase::page_has_it_already, {{"name", what.taken_by}}));
  }
  body += paragraph(say(what.drill ? Phrase::page_confirm : Phrase::page_ask, {{"name", name}}));
  body += "<form method=\"post\"><button type=\"submit\">" +
          escaped(say(what.drill ? Phrase::page_drill_button : Phrase::page_button)) +
          "</button></form>";
  return page(200, what.drill ? say(Phrase::page_drill) : what.title, body, say.language());
}

HttpResponse AnswerPage::take(const LinkRow& link) {
  const Speech say(sink_.language_of(link.keyholder), clock_.wall_now());
  const auto what = sink_.question(link.outage, say.language());
  if (!what.running) return over(say, what);
  if (link.used_at) return ask(link);
  if (!sink_.answer_by_link(link)) return over(say, what);
  book_.mark_used(link);
  if (what.drill) {
    return page(200, say(Phrase::page_thanks), paragraph(say(Phrase::page_drill_done)),
                say.language());
  }
  std::string body = news(say, what) + paragraph(say(Phrase::page_call_list_stops,
                                                     {{"name", sink_.name_of(link.keyholder)}}));
  if (!what.taken_by.empty()) {
    body += paragraph(say(Phrase::page_had_it_before, {{"name", what.taken_by}}));
  }
  return page(200, say(Phrase::page_you_have_it), body, say.language());
}

}  // namespace ebbwatch
