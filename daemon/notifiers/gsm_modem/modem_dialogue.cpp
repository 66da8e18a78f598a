#include "notifiers/gsm_modem/modem_dialogue.h"

#include <algorithm>
#include <utility>

#include "core/invariant.h"
#include "notifiers/answer_text.h"
#include "notifiers/gsm_modem/modem_errors.h"
#include "notifiers/gsm_modem/modem_words.h"
#include "text/gsm7.h"

namespace ebbwatch {
namespace {

using Kind = ModemLine::Kind;

constexpr char end_of_text = 0x1A, cancel_text = 0x1B;
constexpr Span usual_limit = Span::of_s(5), wake_limit = Span::of_s(2), pin_limit = Span::of_s(20);
constexpr Span list_limit = Span::of_s(20), prompt_limit = Span::of_s(8);
constexpr Span check_every = Span::of_min(1), check_in_trouble = Span::of_s(10);
constexpr int silences_max = 3;

}  // namespace

void ModemDialogue::opened(Instant now) {
  open_ = true;
  wants_reopen_ = false;
  silences_ = 0;
  lines_.clear();
  plan_setup(now);
}

void ModemDialogue::closed(const std::string& why, Instant now) {
  open_ = set_up_ = wants_reopen_ = false;
  const bool sent = phase_ == Phase::result;
  phase_ = Phase::idle;
  phase_ends_ = next_check_ = Instant::never();
  plan_.clear();
  output_.clear();
  end_job(sent ? Outcome::Kind::unknown : Outcome::Kind::retry_later, why);
  trouble(why, now);
}

void ModemDialogue::plan_setup(Instant now) {
  set_up_ = false;
  coding_ = -1;
  phase_ = Phase::idle;
  plan_ = {Purpose::wake, Purpose::echo_off, Purpose::error_numbers, Purpose::sim};
  output_ += cancel_text;  // In case it waits for the rest of a text.
  go_on(now);
}

// What is known once the SIM card is open.
void ModemDialogue::plan_check() {
  const bool pdu = setup_.mode != ModemSetup::Mode::text && !text_mode_;
  if (!set_up_) {
    plan_.push_back(pdu ? Purpose::pdu_mode : Purpose::text_mode);
    plan_.push_back(Purpose::announce);
  }
  plan_.push_back(Purpose::signal);
  plan_.push_back(Purpose::registration);
  list_due_ = true;
}

ModemDialogue::Command ModemDialogue::command_for(Purpose purpose) const {
  const auto line = [&]() -> std::string {
    switch (purpose) {
      case Purpose::wake:
        return "AT";
      case Purpose::echo_off:
        return "ATE0";
      case Purpose::error_numbers:
        return "AT+CMEE=1";
      case Purpose::sim:
        return "AT+CPIN?";
      case Purpose::pin:
        return "AT+CPIN=\"" + setup_.pin + "\"";
      case Purpose::pdu_mode:
        return "AT+CMGF=0";
      case Purpose::text_mode:
        return "AT+CMGF=1";
      case Purpose::wide_letters:
        return "AT+CSCS=\"UCS2\"";
      case Purpose::plain_letters:
        return "AT+CSCS=\"IRA\"";
      case Purpose::registration:
        return "AT+CREG?";
      case Purpose::lte_registration:
        return "AT+CEREG?";
      case Purpose::signal:
        return "AT+CSQ";
      case Purpose::announce:
        return "AT+CNMI=2,1,0,0,0";
      case Purpose::list:
        return text_mode_ ? "AT+CMGL=\"ALL\"" : "AT+CMGL=4";
      case Purpose::remove:
        return "AT+CMGD=" + std::to_string(*to_remove_.begin());
      case Purpose::parameters:
      case Purpose::submit:
        break;  // They come with a job.
    }
    INVARIANT(false);
    return {};
  };
  return {purpose, line(), {}};
}

Span ModemDialogue::limit_of(const Command& command) const {
  switch (command.purpose) {
    case Purpose::wake:
      return wake_limit;
    case Purpose::pin:
      return pin_limit;
    case Purpose::list:
      return list_limit;
    case Purpose::submit:
      return std::min(prompt_limit, setup_.answer_time);
    default:
      return usual_limit;
  }
}

void ModemDialogue::say_command(Command command, Instant now) {
  command_ = std::move(command);
  heard_.clear();
  phase_ = command_.purpose == Purpose::submit ? Phase::prompt : Phase::answer;
  phase_ends_ = now + limit_of(command_);
  output_ += command_.line + "\r";
}

// The next thing to do, if nothing is under way: planned questions first, then texts.
void ModemDialogue::go_on(Instant now) {
  while (open_ && phase_ == Phase::idle) {
    if (!plan_.empty()) {
      const Purpose next = plan_.front();
      plan_.pop_front();
      say_command(command_for(next), now);
    } else if (!set_up_ || !trouble_.empty()) {
      return;
    } else if (!job_commands_.empty()) {
      Command next = std::move(job_commands_.front());
      job_commands_.pop_front();
      say_command(std::move(next), now);
    } else if (begin_job(now)) {
      continue;
    } else if (!to_remove_.empty()) {
      say_command(command_for(Purpose::remove), now);
    } else if (list_due_) {
      list_due_ = false;
      say_command(command_for(Purpose::list), now);
    } else {
      return;
    }
  }
}

bool ModemDialogue::begin_job(Instant now) {
  if (job_ || jobs_.empty()) return false;
  job_ = std::move(jobs_.front());
  jobs_.pop_front();
  if (job_->give_up_at <= now) {
    end_job(Outcome::Kind::retry_later, "the modem was busy for too long");
    return true;
  }
  if (!text_mode_) {
    for (auto& part : submit_pdus(job_->phone, job_->text, job_->reference)) {
      job_commands_.push_back(
          {Purpose::submit, "AT+CMGS=" + std::to_string(part.octets), std::move(part.hex)});
    }
    return true;
  }
  // Text mode joins nothing, so a longer text is cut where one message ends.
  const bool wide = wide_letters_ && !is_gsm7(job_->text);
  const int coding = wide ? 8 : 0;
  if (coding != coding_) {
    job_commands_.push_back(
        {Purpose::parameters, "AT+CSMP=17,167,0," + std::to_string(coding), {}});
    coding_ = coding;
  }
  const std::string safe = wide ? job_->text : to_gsm7(job_->text);
  const std::string hex = ucs2_hex(safe).substr(0, 4 * 70);
  const std::string text = std::string(gsm7_beginning(safe, segment_septets_max));
  const std::string body = wide ? hex : wide_letters_ ? ucs2_hex(text) : plain_letters(text);
  const std::string number = wide_letters_ ? ucs2_hex(job_->phone) : job_->phone;
  job_commands_.push_back({Purpose::submit, "AT+CMGS=\"" + number + "\"", body});
  return true;
}

void ModemDialogue::received(std::string_view bytes, Instant now) {
  for (const ModemLine& line : lines_.add(bytes)) on_line(line, now);
  go_on(now);
}

void ModemDialogue::on_line(const ModemLine& line, Instant now) {
  if (line.kind == Kind::other) return on_other(line.text);
  if (line.kind != Kind::prompt) return on_final(line, now);
  if (phase_ != Phase::prompt) return;
  output_ += command_.body + end_of_text;
  phase_ = Phase::result;
  phase_ends_ = now + setup_.answer_time;
}

void ModemDialogue::on_other(const std::string& text) {
  if (text.starts_with("+CMTI:")) {
    list_due_ = true;
  } else if (phase_ != Phase::idle && text != command_.line) {
    heard_.push_back(text);
  }
}

// Whether a final word belongs to the command: see "Distrust" in the header.
bool ModemDialogue::answered(const ModemLine& line) const {
  if (phase_ == Phase::idle) return false;
  if (line.kind != Kind::ok) return true;
  if (phase_ == Phase::prompt) return false;
  const auto heard = [&](std::string_view prefix) { return !answer_fields(prefix).empty(); };
  switch (command_.purpose) {
    case Purpose::sim:
      return heard("+CPIN:");
    case Purpose::registration:
      return heard("+CREG:");
    case Purpose::lte_registration:
      return heard("+CEREG:");
    case Purpose::signal:
      return heard("+CSQ:");
    case Purpose::submit:
      return heard("+CMGS:");
    default:
      return true;
  }
}

void ModemDialogue::on_final(const ModemLine& line, Instant now) {
  if (!answered(line)) return;
  phase_ = Phase::idle;
  phase_ends_ = Instant::never();
  silences_ = 0;
  finish(line, now);
}

void ModemDialogue::finish(const ModemLine& line, Instant now) {
  const bool ok = line.kind == Kind::ok;
  switch (command_.purpose) {
    case Purpose::sim:
      return finish_sim(line, now);
    case Purpose::pin:
      if (ok) return plan_.push_front(Purpose::sim);
      return trouble("the SIM card refused the PIN (" + error_words(line) +
                         "); it locks itself after three wrong ones, so it is not tried again",
                     now);
    case Purpose::pdu_mode:
      if (ok) return;
      if (setup_.mode == ModemSetup::Mode::pdu) {
        return trouble("the modem has no PDU mode; try mode: text", now);
      }
      return plan_.push_front(Purpose::text_mode);
    case Purpose::text_mode:
      text_mode_ = true;
      return plan_.push_front(Purpose::wide_letters);
    case Purpose::wide_letters:
      wide_letters_ = ok;
      if (!ok) plan_.push_front(Purpose::plain_letters);
      return;
    case Purpose::registration:
      return finish_registration(line, false, now);
    case Purpose::lte_registration:
      return finish_registration(line, true, now);
    case Purpose::signal:
      signal_ = signal_words(modem_number(ok ? answer_fields("+CSQ:").front() : "").value_or(99));
      return;
    case Purpose::list:
      if (ok) finish_list();
      return;
    case Purpose::remove:
      handed_out_.erase(*to_remove_.begin());
      to_remove_.erase(to_remove_.begin());
      return;
    case Purpose::submit:
      return finish_submit(line);
    default:
      return;  // What a modem does not know of these it can do without.
  }
}

void ModemDialogue::finish_sim(const ModemLine& line, Instant now) {
  const auto fields = answer_fields("+CPIN:");
  if (line.kind != Kind::ok) return trouble("SIM card: " + error_words(line), now);
  if (fields.front() == "READY") return plan_check();
  if (fields.front() != "SIM PIN") {
    return trouble("the SIM card wants: " + answer_text(fields.front()), now);
  }
  if (setup_.pin.empty()) {
    return trouble("the SIM card wants its PIN; give pin: {file: PATH}", now);
  }
  if (pin_tried_) {
    return trouble("the SIM card refused the PIN; correct it and start again", now);
  }
  pin_tried_ = true;
  plan_.push_front(Purpose::pin);
}

// "+CREG: 0,1" is the answer; "+CREG: 1" news.
void ModemDialogue::finish_registration(const ModemLine& line, bool lte, Instant now) {
  const auto fields = answer_fields(lte ? "+CEREG:" : "+CREG:");
  const bool known = line.kind == Kind::ok && !fields.empty();
  const int state = modem_number(!known              ? ""
                                 : fields.size() > 1 ? fields[1]
                                                     : fields[0])
                        .value_or(lte ? 0 : 4);
  if (!is_registered(state) && !lte) {
    network_ = network_words(state);
    return plan_.push_front(Purpose::lte_registration);
  }
  if (!is_registered(state)) return trouble(network_, now);
  network_ = network_words(state);
  set_up_ = true;
  trouble_.clear();
  next_check_ = now + check_every;
}

void ModemDialogue::finish_list() {
  std::vector<Incoming> found;
  for (const std::string& line : heard_) {
    const auto fields = modem_fields(line, "+CMGL:");
    if (fields.size() >= 2) {
      // Ours that were never sent are no business of this.
      const bool came_in = fields[1] == "0" || fields[1] == "1" || fields[1].starts_with("REC");
      const int index = came_in ? modem_number(fields[0]).value_or(-1) : -1;
      found.push_back({index, fields.size() > 2 ? fields[2] : "", ""});
    } else if (!found.empty()) {
      found.back().text += (found.back().text.empty() ? "" : "\n") + line;
    }
  }
  for (Incoming& one : found) {
    if (one.index < 0 || !handed_out_.insert(one.index).second) continue;
    if (!text_mode_) {
      const auto read = read_deliver(one.text);
      one.from = read ? read.value().from : "";
      one.text = read ? read.value().text : "(no text: " + read.error().text + ")";
    } else if (wide_letters_) {
      const auto from = from_ucs2_hex(one.from), text = from_ucs2_hex(one.text);
      if (from) one.from = from.value();
      if (text) one.text = text.value();
    }
    incoming_.push_back(std::move(one));
  }
}

void ModemDialogue::finish_submit(const ModemLine& line) {
  if (line.kind == Kind::ok) {
    if (!job_commands_.empty()) return;
    return end_job(Outcome::Kind::delivered,
                   "taken by the network as number " + answer_fields("+CMGS:").front());
  }
  auto kind = Outcome::Kind::retry_later;
  if (line.kind == Kind::cms_error) kind = cms_error_kind(line.number);
  last_error_ = error_words(line);
  end_job(kind, last_error_);
}

void ModemDialogue::elapsed(Instant now) {
  if (now >= phase_ends_ && phase_ != Phase::idle) silence(now);
  std::erase_if(jobs_, [&](const ModemJob& job) {
    const bool over = now >= job.give_up_at;
    if (over && job.id != 0) {
      const std::string why = trouble_.empty() ? "the modem was not ready in time" : trouble_;
      ended_.push_back({job.id, {Outcome::Kind::retry_later, why, std::nullopt}});
    }
    return over;
  });
  if (open_ && phase_ == Phase::idle && now >= next_check_) {
    next_check_ = now + check_every;
    if (set_up_) {
      plan_check();
    } else {
      plan_setup(now);
    }
  }
  go_on(now);
}

void ModemDialogue::silence(Instant now) {
  const Phase phase = std::exchange(phase_, Phase::idle);
  phase_ends_ = Instant::never();
  ++silences_;
  const std::string why = "the modem does not answer to " + command_.line.substr(0, 7);
  if (command_.purpose == Purpose::submit) {
    last_error_ = phase == Phase::result ? "the modem did not say whether the text was sent" : why;
    end_job(phase == Phase::result ? Outcome::Kind::unknown : Outcome::Kind::retry_later,
            last_error_);
  }
  if (silences_ >= silences_max) {
    wants_reopen_ = true;
    return trouble(why, now);
  }
  plan_setup(now);
}

void ModemDialogue::trouble(std::string what, Instant now) {
  trouble_ = last_error_ = answer_text(what);
  plan_.clear();
  set_up_ = false;
  if (open_) next_check_ = now + check_in_trouble;
  end_job(Outcome::Kind::retry_later, trouble_);
  fail_waiting(trouble_);
}

void ModemDialogue::end_job(Outcome::Kind kind, std::string answer) {
  job_commands_.clear();
  if (!job_) return;
  if (job_->id != 0) ended_.push_back({job_->id, {kind, std::move(answer), std::nullopt}});
  job_.reset();
}

// At once, so that another way is tried while this one is mended.
void ModemDialogue::fail_waiting(const std::string& why) {
  for (const ModemJob& job : jobs_) {
    if (job.id != 0) ended_.push_back({job.id, {Outcome::Kind::retry_later, why, std::nullopt}});
  }
  jobs_.clear();
}

void ModemDialogue::send(ModemJob job, Instant now) {
  jobs_.push_back(std::move(job));
  if (!trouble_.empty()) fail_waiting(trouble_);
  go_on(now);
}

void ModemDialogue::forget(std::uint64_t id, Instant now) {
  std::erase_if(jobs_, [&](const ModemJob& job) { return job.id == id; });
  if (!job_ || job_->id != id) return;
  job_->id = 0;
  if (phase_ != Phase::prompt) return;
  output_ += cancel_text;
  end_job(Outcome::Kind::retry_later, "");
  plan_setup(now);
}

void ModemDialogue::taken(int index, Instant now) {
  to_remove_.insert(index);
  go_on(now);
}

Instant ModemDialogue::deadline() const {
  Instant first = std::min(phase_ends_, phase_ == Phase::idle ? next_check_ : Instant::never());
  for (const ModemJob& job : jobs_) first = std::min(first, job.give_up_at);
  return first;
}

WayState ModemDialogue::state() const {
  if (!trouble_.empty()) return {WayState::Word::failing, trouble_};
  if (!set_up_) return {WayState::Word::not_known, "waking the modem"};
  std::string text = network_ + "; " + signal_;
  if (!last_error_.empty()) text += "; last error: " + last_error_;
  return {WayState::Word::working, text};
}

std::vector<std::string> ModemDialogue::answer_fields(std::string_view prefix) const {
  for (const std::string& line : heard_) {
    if (auto fields = modem_fields(line, prefix); !fields.empty()) return fields;
  }
  return {};
}

}  // namespace ebbwatch
