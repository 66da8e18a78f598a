#include <sys/random.h>
#include <termios.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <array>
#include <cstdio>
#include <iostream>
#include <memory>
#include <optional>

#include "cli/board_address.h"
#include "cli/context.h"
#include "control/control_client.h"
#include "core/limits.h"
#include "crypto/password_hash.h"
#include "crypto/wipe.h"
#include "store/sqlite_password_store.h"

namespace ebbwatch {
namespace {

/// Keeps the terminal from showing what is typed, while it lives.
class Unseen {
 public:
  Unseen() {
    seen_ = tcgetattr(STDIN_FILENO, &before_) == 0;
    if (!seen_) return;
    termios quiet = before_;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    tcsetattr(STDIN_FILENO, TCSAFLUSH, &quiet);
  }
  ~Unseen() {
    if (seen_) tcsetattr(STDIN_FILENO, TCSAFLUSH, &before_);
  }
  Unseen(const Unseen&) = delete;
  Unseen& operator=(const Unseen&) = delete;

 private:
  termios before_{};
  bool seen_ = false;
};

std::string ask(const char* question, bool terminal) {
  if (terminal) std::fprintf(stderr, "%s", question);
  std::string line;
  const Unseen unseen;
  std::getline(std::cin, line);
  if (terminal) std::fprintf(stderr, "\n");
  return line;
}

/// From the terminal, twice and unseen; from a pipe, its first line. Empty: complained.
std::optional<std::string> ask_password(Context& context, const std::string& role) {
  const bool terminal = isatty(STDIN_FILENO) == 1;
  auto password = ask(("New password of the role " + role + ": ").c_str(), terminal);
  if (password.size() < limits::board_password_chars_min ||
      password.size() > limits::board_password_bytes_max) {
    complain(context,
             "A password has at least " + std::to_string(limits::board_password_chars_min) +
                 " characters; four or more words are good ones.",
             exit_usage);
    return std::nullopt;
  }
  if (terminal && ask("Once more: ", true) != password) {
    complain(context, "The two were not the same. Nothing was changed.", exit_usage);
    return std::nullopt;
  }
  return password;
}

struct PasswordOptions {
  std::string role, person;
};

/// The role, or "keyholder/robin" for a password of one person; empty, after a complaint, when
/// there is no such person.
std::string password_key(Context& context, const Settings& settings,
                         const PasswordOptions& options) {
  if (options.person.empty()) return options.role;
  if (options.role != "keyholder") {
    complain(context, "--person goes with the role keyholder only.", exit_usage);
    return {};
  }
  for (const auto& one : settings.keyholders) {
    if (one.id == options.person) return options.role + "/" + one.id;
  }
  complain(context, "--person: no keyholder " + options.person + " is configured.", exit_usage);
  return {};
}

void set_password(Context& context, const PasswordOptions& options) {
  Settings settings;
  if (!load_or_complain(context, settings)) return;
  const std::string role = password_key(context, settings, options);
  if (role.empty()) return;
  auto password = ask_password(context, role);
  if (!password) return;
  const WipedAtEnd after(*password);
  std::array<std::uint8_t, 16> salt{};
  if (getrandom(salt.data(), salt.size(), 0) != static_cast<ssize_t>(salt.size())) {
    return complain(context, "The system gave no random numbers.");
  }
  auto store = open_password_store(settings.watcher.state_dir);
  if (!store) return complain(context, store.error().text);
  const auto done = store.value()->set_password({role, hash_password(*password, salt), wall_now()});
  if (!done) return complain(context, done.error().text);
  // A daemon that runs takes it at once; one that does not will find it when it starts.
  const auto told = ask_daemon(settings.watcher.state_dir, R"({"command": "keys"})");
  if (!told && told.error().code != Errc::unavailable) {
    std::fprintf(stderr, "The running daemon could not be told: %s\nReload it (SIGHUP).\n",
                 told.error().text.c_str());
  }
  const auto address = board_address(settings);
  std::printf(
      "The role %s has a new password; whoever was in by an older one must enter again.\n%s",
      role.c_str(),
      address.empty() ? "Nobody can see the board yet: add listen.board to the "
                        "configuration, and restart.\n"
                      : ("The board: " + address + "\n").c_str());
}

}  // namespace

void add_board_password(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand("board-password", "Set the password of one role of the board");
  command->footer(
      "A viewer reads; a keyholder also acknowledges, shelves and adds notes at the sites whose\n"
      "call list has them; a host does everything. A keyholder with a password of their own\n"
      "(--person) enters by no other, so nobody else can act in their name.\n"
      "Asks for the password; a script may write it to standard input.\n"
      "Examples: ebbwatch board-password host\n"
      "          ebbwatch board-password keyholder --person robin");
  auto options = std::make_shared<PasswordOptions>();
  command->add_option("role", options->role, "viewer, keyholder or host")
      ->required()
      ->check(CLI::IsMember({"viewer", "keyholder", "host"}));
  command->add_option("--person", options->person, "Of this keyholder alone")
      ->type_name("KEYHOLDER");
  add_config_option(*command, context);
  command->callback([&context, options] { set_password(context, *options); });
}

}  // namespace ebbwatch
