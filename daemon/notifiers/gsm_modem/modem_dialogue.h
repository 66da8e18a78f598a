// The dialogue with a GSM modem, without the wire: what it says goes in, what to say comes out. It
// wakes the modem, opens the SIM card, watches registration and signal, sends one text at a time,
// and fetches what came in (AT commands of 3GPP TS 27.005 and 27.007). Pure: time is an argument.
//
// Distrust: an OK counts for a text only after its +CMGS, for a question only after its answer, so
// that a doubled or late OK of an earlier command proves nothing. A PIN is tried once in a life.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/time.h"
#include "notifiers/gsm_modem/modem_lines.h"
#include "notifiers/gsm_modem/sms_pdu.h"
#include "ports/notifier.h"

namespace ebbwatch {

struct ModemSetup {
  enum class Mode : std::uint8_t { automatic, pdu, text };
  Mode mode = Mode::automatic;        ///< PDU where the modem has it.
  std::string pin;                    ///< Empty: none known.
  Span answer_time = Span::of_s(40);  ///< For the network to take a text.
};

/// One text to one number.
struct ModemJob {
  std::uint64_t id = 0;  ///< 0: nobody waits for the end.
  std::string phone, text;
  std::uint8_t reference = 0;  ///< See submit_pdus().
  Instant give_up_at = Instant::never();
};

class ModemDialogue {
 public:
  struct Ended {
    std::uint64_t job = 0;
    Outcome outcome;
  };
  struct Incoming {
    int index = 0;  ///< For taken().
    std::string from, text;
  };

  explicit ModemDialogue(ModemSetup setup) : setup_(std::move(setup)) {}

  /// The device is open: everything begins anew.
  void opened(Instant now);
  /// It cannot be opened, or was lost.
  void closed(const std::string& why, Instant now);
  void received(std::string_view bytes, Instant now);
  /// Call at deadline(), or whenever.
  void elapsed(Instant now);
  void send(ModemJob job, Instant now);
  /// Nobody waits for this job any more. It is not begun; once begun it goes on.
  void forget(std::uint64_t job, Instant now);
  /// An incoming text was handed on: the modem may delete it.
  void taken(int index, Instant now);

  Instant deadline() const;
  std::string take_output() { return std::exchange(output_, {}); }
  std::vector<Ended> take_ended() { return std::exchange(ended_, {}); }
  std::vector<Incoming> take_incoming() { return std::exchange(incoming_, {}); }
  /// The modem has stopped answering: close the device and open it again.
  bool wants_reopen() const { return wants_reopen_; }
  WayState state() const;

 private:
  enum class Purpose : std::uint8_t {
    wake,
    echo_off,
    error_numbers,
    sim,
    pin,
    pdu_mode,
    text_mode,
    wide_letters,
    plain_letters,
    registration,
    lte_registration,
    signal,
    announce,
    list,
    remove,
    parameters,
    submit
  };
  struct Command {
    Purpose purpose = Purpose::wake;
    std::string line, body;
  };
  enum class Phase : std::uint8_t { idle, answer, prompt, result };

  void say_command(Command command, Instant now);
  Command command_for(Purpose purpose) const;
  Span limit_of(const Command& command) const;
  void plan_setup(Instant now);
  void plan_check();
  void go_on(Instant now);
  bool begin_job(Instant now);
  void on_line(const ModemLine& line, Instant now);
  void on_other(const std::string& text);
  void on_final(const ModemLine& line, Instant now);
  bool answered(const ModemLine& line) const;
  void finish(const ModemLine& line, Instant now);
  void finish_sim(const ModemLine& line, Instant now);
  void finish_registration(const ModemLine& line, bool lte, Instant now);
  void finish_list();
  void finish_submit(const ModemLine& line);
  void silence(Instant now);
  void trouble(std::string what, Instant now);
  void end_job(Outcome::Kind kind, std::string answer);
  void fail_waiting(const std::string& why);
  std::vector<std::string> answer_fields(std::string_view prefix) const;

  ModemSetup setup_;
  ModemLines lines_;
  std::string output_;
  std::vector<Ended> ended_;
  std::vector<Incoming> incoming_;

  bool open_ = false, wants_reopen_ = false;
  bool set_up_ = false;  ///< Texts may be sent once this is true and trouble_ is empty.
  bool text_mode_ = false, wide_letters_ = false;
  bool pin_tried_ = false;
  int silences_ = 0;  ///< In a row.
  Phase phase_ = Phase::idle;
  Command command_;
  std::vector<std::string> heard_;  ///< Lines since the command.
  Instant phase_ends_ = Instant::never();
  Instant next_check_ = Instant::never();
  std::deque<Purpose> plan_;
  bool list_due_ = false;
  std::set<int> handed_out_, to_remove_;

  std::deque<ModemJob> jobs_;
  std::optional<ModemJob> job_;  ///< The one under way.
  std::deque<Command> job_commands_;
  int coding_ = -1;  ///< Text mode: the data coding that the modem was told last.

  std::string trouble_, last_error_, network_, signal_;
};

}  // namespace ebbwatch
