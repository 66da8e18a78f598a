#include "app/witness_service.h"

#include <algorithm>
#include <array>
#include <utility>

#include "crypto/digest.h"
#include "ingest/problem.h"
#include "reporting/log.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace {

constexpr Span connect_time_max = Span::of_s(5);
constexpr Span whole_time_max = Span::of_s(10);
constexpr std::size_t key_bytes_min = 16;

std::string field(const HttpRequest& request, const char* name) {
  return request.field(name).value_or("");
}

std::string kept(const Transfer& transfer, const std::string& name) {
  for (const auto& [known, value] : transfer.fields) {
    if (known == name) return value;
  }
  return "";
}

}  // namespace

WitnessService::WitnessService(Parts parts)
    : parts_(std::move(parts)),
      curl_(parts_.loop, {connect_time_max, whole_time_max}),
      given_(parts_.entropy) {}

Result<std::map<std::string, std::string>> WitnessService::read_keys(const Settings& settings) {
  std::map<std::string, std::string> keys;
  for (const WitnessSettings& one : settings.witnesses) {
    const auto key = read_secret(one.key, settings.file);
    if (!key) return key.error();
    if (key.value().size() < key_bytes_min) {
      return Error{Errc::bad_input, "The key of witness " + one.name +
                                        " is shorter than 16 characters. Make one with: openssl "
                                        "rand -hex 32"};
    }
    keys[one.name] = key.value();
  }
  return keys;
}

void WitnessService::use(const Settings& settings, std::map<std::string, std::string> keys) {
  own_ = settings.watcher.name;
  keys_ = std::move(keys);
  addresses_.clear();
  for (const WitnessSettings& one : settings.witnesses) {
    std::string url = one.url;
    while (url.ends_with('/')) url.pop_back();
    if (!url.empty()) addresses_[one.name] = {url + witness_path, "", false};
  }
}

std::string WitnessService::fresh_nonce() {
  std::array<std::uint8_t, 16> bytes{};
  parts_.entropy.fill(bytes);
  return to_base64url(bytes);
}

void WitnessService::pump() {
  if (stopping_) return;
  for (Exchange::Request& it : parts_.engine.witness_requests()) {
    parts_.tasks.start("talk to " + it.message.to, Tasks::Role::helper,
                       [this, message = std::move(it.message)]() -> boost::asio::awaitable<void> {
                         return talk(message.to, message);
                       });
  }
}

boost::asio::awaitable<void> WitnessService::talk(std::string to, WitnessMessage message) {
  std::string body = encode(message);
  Result<WitnessMessage> got = co_await exchange(to, std::move(body));
  if (stopping_) co_return;
  note(to, got);
  if (got) {
    parts_.engine.witness_answered(to, got.value());
  } else {
    parts_.engine.witness_failed(to);
  }
}

// Once when it begins, not at every attempt.
void WitnessService::note(const std::string& to, const Result<WitnessMessage>& got) {
  const auto found = addresses_.find(to);
  if (found == addresses_.end() || found->second.refused == !got.ok()) return;
  found->second.refused = !got.ok();
  if (got) {
    say(Level::info, "witness_talk", "Witness " + to + " answers.");
  } else {
    say(Level::warning, "witness_talk",
        "Witness " + to + " does not answer: " + quoted(got.error().text));
  }
}

boost::asio::awaitable<Result<WitnessMessage>> WitnessService::exchange(std::string to,
                                                                        std::string body) {
  // The second time with the nonce that the other side gives to a request without a fresh one.
  for (int attempt = 0; attempt < 2; ++attempt) {
    const auto address = addresses_.find(to);
    const auto key = keys_.find(to);
    if (address == addresses_.end() || key == keys_.end()) {
      co_return Error{Errc::not_found, to + " is not configured any more"};
    }
    std::string nonce = std::exchange(address->second.nonce, "");
    const Seal seal{own_, key->second, nonce.empty() ? fresh_nonce() : nonce, now_s()};
    const SealedMessage sealed = seal_request(body, seal);
    OutgoingRequest request;
    request.method = OutgoingRequest::Method::post;
    request.url = address->second.url;
    request.headers = {{"Content-Type", "application/json"},
                       {"Content-Digest", sealed.digest},
                       {"Signature-Input", sealed.input},
                       {"Signature", sealed.signature}};
    request.wanted = {"content-digest", "signature-input", "signature"};
    request.body = sealed.body;
    const Transfer transfer = co_await curl_.request(std::move(request));
    if (transfer.end != Transfer::End::answered) {
      co_return Error{Errc::unavailable, transfer.error};
    }
    const bool ours = transfer.status == 200 || transfer.status == 401;
    const SealedMessage answer{transfer.answer, kept(transfer, "content-digest"),
                               kept(transfer, "signature-input"), kept(transfer, "signature")};
    if (!ours || answer.signature.empty()) {
      co_return Error{Errc::refused, std::to_string(transfer.status) + " " +
                                         transfer.answer.substr(0, limits::answer_text_bytes_max)};
    }
    const auto opened = open_answer(answer, transfer.status, to, seal);
    if (!opened) co_return opened.error();
    auto message = decode(transfer.answer);
    if (!message) co_return message.error();
    if (message.value().from != to || message.value().to != own_) {
      co_return Error{Errc::refused, "the answer is from or for somebody else"};
    }
    const auto still = addresses_.find(to);
    if (still != addresses_.end()) still->second.nonce = message.value().next;
    if (transfer.status == 200) co_return message;
  }
  co_return Error{Errc::refused, "it does not take its own nonce"};
}

boost::asio::awaitable<HttpResponse> WitnessService::handle(HttpRequest request) {
  co_return answer(request);
}

HttpResponse WitnessService::answer(const HttpRequest& request) {
  if (request.method != "POST") {
    auto out = problem(405, "Allowed here: POST.");
    out.fields.emplace_back("Allow", "POST");
    return out;
  }
  const SealedMessage received{request.body, field(request, "content-digest"),
                               field(request, "signature-input"), field(request, "signature")};
  const auto opened = open_request(received, [this](const std::string& from) {
    const auto found = keys_.find(from);
    return found == keys_.end() ? std::nullopt : std::optional<std::string>(found->second);
  });
  if (!opened) {
    const bool malformed = opened.error().code == Errc::bad_input;
    return refuse(request, malformed ? 400 : 401, opened.error().text);
  }
  const Opened& sender = opened.value();
  const Instant now = parts_.clock.now();
  WitnessMessage answer;
  if (!given_.take(sender.from, sender.nonce, now)) {
    answer.from = own_;
    answer.to = sender.from;
    answer.next = given_.give(sender.from, now);
    return sealed(401, answer, sender.nonce);
  }
  const auto message = decode(request.body);
  if (!message) return refuse(request, 400, message.error().text);
  if (message.value().from != sender.from || message.value().to != own_) {
    return refuse(request, 401, "from and to are not the signer and this watcher");
  }
  auto served = parts_.engine.serve_witness(sender.from, message.value());
  if (!served) return refuse(request, 401, "\"" + sender.from + "\" is no witness here any more");
  served->next = given_.give(sender.from, now);
  return sealed(200, *served, sender.nonce);
}

HttpResponse WitnessService::sealed(int status, const WitnessMessage& message,
                                    const std::string& nonce) {
  const SealedMessage out =
      seal_answer(encode(message), status, {own_, keys_[message.to], nonce, now_s()});
  HttpResponse response;
  response.status = status;
  response.content_type = "application/json";
  response.body = out.body;
  response.fields = {{"Content-Digest", out.digest},
                     {"Signature-Input", out.input},
                     {"Signature", out.signature},
                     {"Cache-Control", "no-store"}};
  return response;
}

HttpResponse WitnessService::refuse(const HttpRequest& request, int status,
                                    const std::string& why) {
  const Span wait = wrong_.failed(address_group(request.remote_address), parts_.clock.now());
  say(Level::info, "witness_refused",
      "Refused a witness message from " + request.remote_address + " with " +
          std::to_string(wait.us > 0 ? 429 : status) + ": " + quoted(why));
  if (wait.us == 0) return problem(status, why);
  auto out = problem(429, "Too many wrong messages from there.");
  const auto seconds = std::max<std::int64_t>(1, (wait.us + 999'999) / 1'000'000);
  out.fields.emplace_back("Retry-After", std::to_string(seconds));
  return out;
}

}  // namespace ebbwatch
