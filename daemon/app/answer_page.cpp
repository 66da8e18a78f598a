#include "app/answer_page.h"

#include <algorithm>

#include "crypto/digest.h"
#include "text/markup.h"

namespace ebbwatch {
namespace {

constexpr std::string_view style =
    "body{font:18px/1.5 sans-serif;max-width:32em;margin:2em auto;padding:0 1em;color:#222;"
    "background:#fff}button{font:inherit;padding:.8em 1.2em;width:100%;border:0;border-radius:.4em;"
    "background:#0b5c7a;color:#fff}@media(prefers-color-scheme:dark){body{color:#eee;"
    "background:#14181b}button{background:#5fb6d6;color:#06222e}}";

HttpResponse page(int status, const std::string& title, const std::string& body) {
  static const std::string policy =
      "default-src 'none'; style-src 'sha256-" + to_base64(sha256(style)) +
      "'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
  HttpResponse out;
  out.status = status;
  out.content_type = "text/html; charset=utf-8";
  out.body =
      "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">"
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

HttpResponse over(const AnswerSink::Question& what) {
  return page(410, "This is over",
              paragraph(what.drill ? "The exercise has ended. There is nothing to do."
                                   : "The outage that this link was for has ended. There is "
                                     "nothing to take on any more."));
}

std::string news(const AnswerSink::Question& what) {
  if (what.drill) return "EXERCISE: no action at the tank is needed.";
  return "No contact with " + what.title + " since " + what.since + ".";
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
  const auto what = sink_.question(link.outage);
  if (!what.running) return over(what);
  const std::string name = sink_.name_of(link.keyholder);
  if (link.used_at) {
    return page(200, "You have answered",
                paragraph(news(what)) + paragraph("This link has been used: " + name +
                                                  " has answered. It need not be done again."));
  }
  std::string body = paragraph(news(what));
  if (!what.taken_by.empty()) body += paragraph(what.taken_by + " has it already.");
  if (what.drill) {
    body += paragraph("Please confirm, " + name + ", that you got this.");
  } else {
    body += paragraph("If you see to it, " + name +
                      ", say so here. Nobody else is called then, and those who were told hear "
                      "that you have it.");
  }
  body += std::string("<form method=\"post\"><button type=\"submit\">") +
          (what.drill ? "I got this" : "I see to it") + "</button></form>";
  return page(200, what.drill ? "Exercise" : what.title, body);
}

HttpResponse AnswerPage::take(const LinkRow& link) {
  const auto what = sink_.question(link.outage);
  if (!what.running) return over(what);
  if (link.used_at) return ask(link);
  if (!sink_.answer_by_link(link)) return over(what);
  book_.mark_used(link);
  if (what.drill) {
    return page(200, "Thank you",
                paragraph("The exercise has reached you and your answer has "
                          "reached the watcher. Nothing else is to be done."));
  }
  std::string body = paragraph(news(what)) + paragraph(sink_.name_of(link.keyholder) +
                                                       ", you have it. The call list stops.");
  if (!what.taken_by.empty()) body += paragraph(what.taken_by + " had taken it on before you.");
  return page(200, "You have it", body);
}

}  // namespace ebbwatch
