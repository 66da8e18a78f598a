#include "notifiers/email/email_notifier.h"

#include <algorithm>
#include <string_view>
#include <utility>

#include "core/limits.h"
#include "notifiers/answer_text.h"
#include "notifiers/email/mail_outcome.h"
#include "notifiers/email/mime.h"
#include "settings/addresses.h"
#include "settings/secrets.h"

namespace ebbwatch {
namespace {

class EmailNotifier final : public Notifier {
 public:
  EmailNotifier(std::vector<MailSubmission> servers, Mailbox from, CurlClient& client, Clock& clock)
      : servers_(std::move(servers)), from_(std::move(from)), client_(client), clock_(clock) {}

  boost::asio::awaitable<Outcome> deliver(Message message) override;
  boost::asio::awaitable<std::optional<Outcome>> check() override;

 private:
  std::string message_id(const std::string& notice) const {
    return notice + "@" + std::string(mail_domain(from_.address));
  }
  std::string compose(const Message& message) const;
  boost::asio::awaitable<Outcome> try_all(std::string recipient, std::string text);

  std::vector<MailSubmission> servers_;  ///< Without recipient and message.
  Mailbox from_;
  CurlClient& client_;
  Clock& clock_;
};

std::string EmailNotifier::compose(const Message& message) const {
  Mail mail;
  mail.from = from_;
  mail.to = {message.to_name, message.to_email};
  mail.subject = message.subject;
  mail.text = message.text;
  mail.date = clock_.wall_now();
  mail.message_id = message_id(message.notice);
  if (!message.first_notice.empty() && message.first_notice != message.notice) {
    mail.references.push_back(message_id(message.first_notice));
  }
  return compose_mail(mail);
}

// Whether the next server may do better: this one could not be reached or is not fit to be used, or
// it says "later". A refusal of the message itself holds for all, and a lost answer may mean that
// it was taken.
bool next_may_help(const Transfer& transfer, const Outcome& outcome) {
  using End = Transfer::End;
  if (outcome.kind == Outcome::Kind::retry_later) return true;
  return transfer.end == End::login_refused || transfer.end == End::not_encrypted ||
         transfer.end == End::not_trusted || transfer.end == End::bad_address;
}

boost::asio::awaitable<Outcome> EmailNotifier::deliver(Message message) {
  if (mailbox_fault(message.to_email)) {
    co_return Outcome{Outcome::Kind::rejected_forever,
                      message.keyholder + " has no usable mail address", std::nullopt};
  }
  const std::string text = compose(message);
  Outcome outcome = co_await try_all(message.to_email, text);
  co_return outcome;
}

boost::asio::awaitable<std::optional<Outcome>> EmailNotifier::check() {
  const std::string nobody, nothing;
  Outcome outcome = co_await try_all(nobody, nothing);
  co_return outcome;
}

boost::asio::awaitable<Outcome> EmailNotifier::try_all(std::string recipient, std::string text) {
  const Instant begun = clock_.now();
  Outcome last;
  std::string said;
  bool later = false;
  for (std::size_t i = 0; i < servers_.size(); ++i) {
    MailSubmission submission = servers_[i];
    submission.recipient = recipient;
    submission.message = text;
    // Those that are left share the time, so that one that hangs leaves some for the next.
    const Span left = limits::transfer_time_max - (clock_.now() - begun);
    submission.time_limit = left / static_cast<std::int64_t>(servers_.size() - i);
    const Transfer transfer = co_await client_.submit(std::move(submission));
    last = mail_outcome(transfer);
    if (!next_may_help(transfer, last)) break;
    later = later || last.kind == Outcome::Kind::retry_later;
    if (servers_.size() > 1) said += (said.empty() ? "" : "; ") + servers_[i].url + ": ";
    said += last.answer;
    if (i + 1 == servers_.size()) {
      last.kind = later ? Outcome::Kind::retry_later : last.kind;
      last.answer = answer_text(said);
    }
  }
  co_return last;
}

bool is_this_machine(std::string_view server) {
  std::string_view host = server.substr(std::min(server.size(), server.find("://") + 3));
  if (host.starts_with("[::1]")) return true;
  host = host.substr(0, host.find_first_of(":/"));
  const bool address = host.find_first_not_of("0123456789.") == std::string_view::npos;
  return host == "localhost" || (address && host.starts_with("127."));
}

MailSubmission::Encryption encryption(const EmailSettings& settings, const std::string& server) {
  using Encryption = MailSubmission::Encryption;
  if (settings.starttls == StartTls::never) return Encryption::never;
  const bool password_at_risk = !settings.user.empty() && !is_this_machine(server);
  const bool required = settings.starttls == StartTls::required || password_at_risk;
  return required ? Encryption::required : Encryption::when_offered;
}

std::string beside(const std::string& configuration_file, const std::string& path) {
  const auto slash = configuration_file.rfind('/');
  if (path.empty() || path.front() == '/' || slash == std::string::npos) return path;
  return configuration_file.substr(0, slash + 1) + path;
}

}  // namespace

Result<std::unique_ptr<Notifier>> make_email_notifier(const EmailSettings& settings,
                                                      const std::string& configuration_file,
                                                      const std::string& watcher,
                                                      CurlClient& client, Clock& clock) {
  if (mailbox_fault(settings.from)) {
    return Error{Errc::bad_input, "from: \"" + settings.from + "\" is not a mail address"};
  }
  MailSubmission submission;
  submission.helo_name = mail_domain(settings.from);
  submission.sender = settings.from;
  submission.user = settings.user;
  if (settings.password.given()) {
    auto password = read_secret(settings.password, configuration_file);
    if (!password) return password.error();
    submission.password = std::move(password.value());
  }
  if (settings.ca_file.given()) {
    submission.ca_file = beside(configuration_file, settings.ca_file.name);
  }
  const Mailbox from{"ebbwatch " + watcher, settings.from};
  std::vector<MailSubmission> servers;
  for (const std::string& server : settings.servers) {
    submission.url = server;
    submission.encryption = encryption(settings, server);
    servers.push_back(submission);
  }
  return std::unique_ptr<Notifier>(
      std::make_unique<EmailNotifier>(std::move(servers), from, client, clock));
}

}  // namespace ebbwatch
