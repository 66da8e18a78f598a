#include "sender.h"

#include <curl/curl.h>

#include <algorithm>
#include <unordered_map>
#include <vector>

namespace ebbwatch::fleet {
namespace {

constexpr long answer_time_ms_max = 15'000;
constexpr std::size_t answer_bytes_max = 512;

std::size_t keep_answer(char* bytes, std::size_t size, std::size_t count, void* into) {
  auto& answer = *static_cast<std::string*>(into);
  const std::size_t room = answer_bytes_max - std::min(answer_bytes_max, answer.size());
  answer.append(bytes, std::min(room, size * count));
  return size * count;
}

}  // namespace

class Sender::Impl {
 public:
  Impl(std::string url, long connections, Done done)
      : url_(std::move(url)), done_(std::move(done)) {
    curl_global_init(CURL_GLOBAL_DEFAULT);
    multi_ = curl_multi_init();
    curl_multi_setopt(multi_, CURLMOPT_MAX_TOTAL_CONNECTIONS, connections);
    while (url_.ends_with('/')) url_.pop_back();
    url_ += "/v1/check-in";
  }
  ~Impl() {
    for (auto& [handle, transfer] : under_way_) {
      curl_multi_remove_handle(multi_, handle);
      end(handle, *transfer);
    }
    for (auto* handle : spare_) curl_easy_cleanup(handle);
    curl_multi_cleanup(multi_);
    curl_global_cleanup();
  }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  void send(std::uint64_t tag, const std::string& key, const std::string& body);
  void carry_on(std::chrono::milliseconds at_most);
  std::size_t under_way() const { return under_way_.size(); }

 private:
  struct Transfer {
    std::uint64_t tag = 0;
    std::string body, answer;
    curl_slist* fields = nullptr;
  };
  CURL* handle();
  static void end(CURL* handle, Transfer& transfer) {
    curl_slist_free_all(transfer.fields);
    curl_easy_cleanup(handle);
  }
  void collect();

  std::string url_;
  Done done_;
  CURLM* multi_ = nullptr;
  std::vector<CURL*> spare_;
  std::unordered_map<CURL*, std::unique_ptr<Transfer>> under_way_;
};

CURL* Sender::Impl::handle() {
  if (spare_.empty()) return curl_easy_init();
  CURL* out = spare_.back();
  spare_.pop_back();
  curl_easy_reset(out);
  return out;
}

void Sender::Impl::send(std::uint64_t tag, const std::string& key, const std::string& body) {
  CURL* easy = handle();
  auto transfer = std::make_unique<Transfer>();
  transfer->tag = tag;
  transfer->body = body;
  transfer->fields = curl_slist_append(nullptr, ("Authorization: Bearer " + key).c_str());
  transfer->fields = curl_slist_append(transfer->fields, "Content-Type: application/json");
  curl_easy_setopt(easy, CURLOPT_URL, url_.c_str());
  curl_easy_setopt(easy, CURLOPT_HTTPHEADER, transfer->fields);
  curl_easy_setopt(easy, CURLOPT_POSTFIELDS, transfer->body.c_str());
  curl_easy_setopt(easy, CURLOPT_POSTFIELDSIZE, static_cast<long>(transfer->body.size()));
  curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, keep_answer);
  curl_easy_setopt(easy, CURLOPT_WRITEDATA, &transfer->answer);
  curl_easy_setopt(easy, CURLOPT_TIMEOUT_MS, answer_time_ms_max);
  curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "http,https");
  curl_multi_add_handle(multi_, easy);
  under_way_.emplace(easy, std::move(transfer));
}

void Sender::Impl::carry_on(std::chrono::milliseconds at_most) {
  int running = 0;
  curl_multi_perform(multi_, &running);
  collect();
  curl_multi_poll(multi_, nullptr, 0, static_cast<int>(at_most.count()), nullptr);
  curl_multi_perform(multi_, &running);
  collect();
}

void Sender::Impl::collect() {
  int left = 0;
  while (const CURLMsg* message = curl_multi_info_read(multi_, &left)) {
    if (message->msg != CURLMSG_DONE) continue;
    CURL* easy = message->easy_handle;
    const CURLcode code = message->data.result;
    long status = 0;
    curl_easy_getinfo(easy, CURLINFO_RESPONSE_CODE, &status);
    auto ended = under_way_.extract(easy);
    Transfer& transfer = *ended.mapped();
    curl_multi_remove_handle(multi_, easy);
    curl_slist_free_all(transfer.fields);
    spare_.push_back(easy);
    const std::string text = code == CURLE_OK ? transfer.answer : curl_easy_strerror(code);
    done_(transfer.tag, code == CURLE_OK ? status : 0, text);
  }
}

Sender::Sender(std::string url, long connections, Done done)
    : impl_(std::make_unique<Impl>(std::move(url), connections, std::move(done))) {}
Sender::~Sender() = default;
void Sender::send(std::uint64_t tag, const std::string& key, const std::string& body) {
  impl_->send(tag, key, body);
}
void Sender::carry_on(std::chrono::milliseconds at_most) {
  impl_->carry_on(at_most);
}
std::size_t Sender::under_way() const {
  return impl_->under_way();
}

}  // namespace ebbwatch::fleet
