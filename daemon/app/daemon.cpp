#include "app/daemon.h"

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/json/parse.hpp>
#include <csignal>
#include <cstdio>
#include <optional>

#include "app/answer_page.h"
#include "app/answering.h"
#include "app/board_handler.h"
#include "app/commands.h"
#include "app/committer.h"
#include "app/detection_wishes.h"
#include "app/doors.h"
#include "app/engine.h"
#include "app/gateway_calls.h"
#include "app/keeper.h"
#include "app/process.h"
#include "app/store_thread.h"
#include "app/stored.h"
#include "app/system_clock.h"
#include "app/system_entropy.h"
#include "app/tasks.h"
#include "app/uplink_check.h"
#include "app/witness_service.h"
#include "control/control_socket.h"
#include "core/invariant.h"
#include "ingest/http_listener.h"
#include "ingest/routes.h"
#include "notifiers/curl_client.h"
#include "notifiers/registry.h"
#include "reporting/log.h"
#include "reporting/service_state.h"
#include "settings/load.h"
#include "settings/plan.h"
#include "store/repair.h"
#include "store/sqlite_key_store.h"
#include "store/sqlite_password_store.h"
#include "store/sqlite_store.h"
#include "store/sqlite_wall_addresses.h"

namespace ebbwatch {
namespace {

namespace asio = boost::asio;

constexpr std::chrono::seconds delivery_grace{10};  ///< For attempts under way when we stop.
constexpr int exit_done = 0, exit_failed = 1, exit_settings = 2;

void report_invariant(const char* condition, const char* file, int line) {
  say(Level::error, "broken_invariant",
      std::string(condition) + " at " + file + ":" + std::to_string(line) +
          ". This is a fault of ebbwatch; it stops so that it can be started again.");
}

/// One line per problem, for the terminal at start and for the log at a reload.
std::vector<std::string> problem_lines(const Loaded& loaded) {
  std::vector<std::string> lines;
  for (const auto& problem : loaded.problems) lines.push_back(text(problem));
  return lines;
}

/// Settings that are understood but that nothing in this version acts on: never in silence.
void warn_of_unavailable(const Settings& settings) {
  const auto warn = [](bool given, const char* key) {
    if (!given) return;
    say(Level::warning, "not_available",
        std::string(key) +
            " is configured, but this version does not have it yet; it has no effect.");
  };
  const auto has_tls = [](const std::optional<ListenAddress>& at) { return at && at->tls; };
  warn(has_tls(settings.listen.check_in_http), "listen.check_in_http.tls");
  warn(has_tls(settings.listen.board), "listen.board.tls");
}

/// Whether a reload changes what is fixed while the process runs.
bool needs_restart(const Settings& now, const Settings& wanted) {
  const auto same = [](const std::optional<ListenAddress>& a,
                       const std::optional<ListenAddress>& b) {
    return a.has_value() == b.has_value() &&
           (!a || (a->address == b->address && a->port == b->port));
  };
  return now.watcher.name != wanted.watcher.name ||
         now.watcher.state_dir != wanted.watcher.state_dir ||
         !same(now.listen.check_in_http, wanted.listen.check_in_http) ||
         !same(now.listen.check_in_udp, wanted.listen.check_in_udp) ||
         now.listen.check_in_mqtt != wanted.listen.check_in_mqtt ||
         !same(now.listen.board, wanted.listen.board);
}

class Daemon {
 public:
  explicit Daemon(std::string configuration_file) : file_(std::move(configuration_file)) {}
  int run();

 private:
  Result<Notifiers> make_notifiers(const Settings& settings);
  std::optional<int> prepare();
  Result<void> open_state();
  Result<void> open_listeners();
  Result<void> open_board();
  void start();
  void start_uplink();
  void wait_for_signal();
  void reload();
  Result<void> reload_keys();
  Result<void> reload_passwords();
  void begin_stop(const std::string& why);
  void finish_deliveries();
  void feed_watchdog();

  std::string file_;
  asio::io_context io_{1};
  SystemClock clock_;
  SystemEntropy entropy_;
  ServiceState service_;
  Tasks tasks_{io_.get_executor(),
               [this](const std::string& name, const std::string& what, bool essential) {
                 say(Level::error, "task_failed", name + " ended: " + what);
                 if (essential) {
                   exit_status_ = exit_failed;
                   begin_stop(name + " cannot go on");
                 }
               }};
  Answering answering_{clock_};
  CurlClient curl_{io_.get_executor()};
  DetectionWishes wishes_;
  Settings settings_at_start_;
  Notifiers notifiers_at_start_;
  StoredState stored_;
  std::unique_ptr<KeyStore> keys_;
  std::unique_ptr<PasswordStore> passwords_;
  std::unique_ptr<WallAddressStore> walls_;
  std::unique_ptr<StoreThread> store_thread_;
  std::unique_ptr<Committer> committer_;
  std::unique_ptr<Keeper> keeper_;
  std::unique_ptr<Engine> engine_;
  Admission admission_{entropy_};
  std::unique_ptr<CheckInHandler> handler_;
  std::unique_ptr<AnswerPage> answer_page_;
  std::map<std::string, std::string> witness_keys_;  ///< Of the settings being put in force.
  std::unique_ptr<WitnessService> witnesses_;
  GatewayCalls gateway_calls_{
      answering_, clock_,
      [this](const DeliveryReport& report) { return engine_->dispatcher().reported(report); },
      [this] { return stored(*committer_); }};
  std::unique_ptr<Routes> routes_;
  std::unique_ptr<HttpListener> listener_;
  std::unique_ptr<Doors> doors_;
  std::unique_ptr<StoreThread> reading_thread_;  ///< The board's; null: no board is configured.
  std::unique_ptr<BoardHandler> board_handler_;
  std::unique_ptr<HttpListener> board_;  ///< Null: no board is configured.
  std::unique_ptr<Commands> commands_;
  std::unique_ptr<ControlSocket> control_;
  asio::signal_set signals_{io_, SIGTERM, SIGINT, SIGHUP};
  asio::steady_timer stop_timer_{io_};
  std::uint64_t uplink_round_ = 0;  ///< Results of an older round's coroutine are ignored.
  bool stopping_ = false;
  int exit_status_ = exit_done;
};

int Daemon::run() {
  if (const auto failed = prepare()) return *failed;
  start();
  io_.run();
  say(Level::info, "stopped", "Stopped.");
  // The store's thread ends first: it still answers to the loop, which nobody runs any more.
  store_thread_.reset();
  reading_thread_.reset();
  return exit_status_;
}

std::optional<int> Daemon::prepare() {
  auto loaded = load_settings(file_);
  if (!loaded.problems.empty()) {
    for (const auto& line : problem_lines(loaded)) std::fprintf(stderr, "%s\n", line.c_str());
    return exit_settings;
  }
  settings_at_start_ = std::move(loaded.settings);
  warn_of_unavailable(settings_at_start_);
  auto notifiers = make_notifiers(settings_at_start_);
  if (!notifiers) {
    std::fprintf(stderr, "%s\n", notifiers.error().text.c_str());
    return exit_settings;
  }
  notifiers_at_start_ = std::move(notifiers.value());
  auto keys = WitnessService::read_keys(settings_at_start_);
  if (!keys) {
    std::fprintf(stderr, "%s\n", keys.error().text.c_str());
    return exit_settings;
  }
  witness_keys_ = std::move(keys.value());
  if (const auto opened = open_state(); !opened) {
    std::fprintf(stderr, "%s\n", opened.error().text.c_str());
    return exit_failed;
  }
  if (const auto opened = open_listeners(); !opened) {
    std::fprintf(stderr, "%s\n", opened.error().text.c_str());
    return exit_failed;
  }
  return std::nullopt;
}

Result<Notifiers> Daemon::make_notifiers(const Settings& settings) {
  Notifiers notifiers;
  for (const auto& one : settings.notifiers) {
    auto made =
        make_notifier(one, settings, {curl_, clock_, entropy_, io_.get_executor(), &answering_});
    if (!made) return made.error();
    notifiers[one.id] = std::move(made.value());
  }
  return notifiers;
}

Result<void> Daemon::open_state() {
  const auto& folder = settings_at_start_.watcher.state_dir;
  const auto repaired = repair_if_damaged(folder, clock_.wall_now());
  if (!repaired) return repaired.error();
  if (repaired.value()) say(Level::error, "database_damaged", repair_text(*repaired.value()));
  auto store = open_store(folder);
  if (!store) return store.error();
  auto state = store.value()->load();
  if (!state) return state.error();
  stored_ = std::move(state.value());
  if (const auto measured = wishes_.measure(*store.value(), settings_at_start_); !measured) {
    return measured.error();
  }
  settings_at_start_ = wishes_.settle(std::move(settings_at_start_));
  add_watched_witnesses(settings_at_start_);
  auto keys = open_key_store(folder);
  if (!keys) return keys.error();
  keys_ = std::move(keys.value());
  store_thread_ = std::make_unique<StoreThread>(std::move(store.value()), io_.get_executor());
  committer_ = std::make_unique<Committer>(
      io_.get_executor(), *store_thread_, [this](const StoreHealth& health) {
        if (health.failing) {
          say(Level::error, "store_failing",
              health.reason +
                  " Deciding and telling go on; what cannot be stored is kept in memory.");
        } else {
          say(Level::info, "store_working", "The store works again; nothing decided was lost.");
        }
        if (engine_) engine_->dispatcher().store_changed(health);
      });
  engine_ = std::make_unique<Engine>(Engine::Parts{io_.get_executor(), tasks_, clock_, entropy_,
                                                   *committer_, [this] { feed_watchdog(); },
                                                   [this] {
                                                     if (board_handler_) board_handler_->changed();
                                                   },
                                                   [this] {
                                                     if (witnesses_) witnesses_->pump();
                                                   }},
                                     settings_at_start_, std::move(notifiers_at_start_));
  keeper_ = std::make_unique<Keeper>(
      io_.get_executor(), *store_thread_, clock_,
      [this]() -> const KeepSettings& { return engine_->settings().keep; });
  return reload_keys();
}

Result<void> Daemon::open_listeners() {
  handler_ = std::make_unique<CheckInHandler>(admission_, *engine_, clock_);
  answering_.use(*engine_);
  answer_page_ = std::make_unique<AnswerPage>(engine_->answers(), answering_, clock_,
                                              [this] { return stored(*committer_); });
  routes_ = std::make_unique<Routes>(*handler_);
  routes_->add(std::string(AnswerPage::prefix), *answer_page_);
  witnesses_ = std::make_unique<WitnessService>(
      WitnessService::Parts{io_.get_executor(), tasks_, clock_, entropy_, *engine_});
  witnesses_->use(engine_->settings(), std::move(witness_keys_));
  routes_->add(witness_path, *witnesses_);
  routes_->add(std::string(door_prefix), gateway_calls_);
  if (const auto used = gateway_calls_.use(settings_at_start_); !used) return used.error();
  listener_ = std::make_unique<HttpListener>(io_.get_executor(), *routes_, clock_);
  const auto& listen = settings_at_start_.listen;
  if (listen.check_in_http) {
    const auto port = listener_->open(listen.check_in_http->address, listen.check_in_http->port);
    if (!port) return port.error();
    say(Level::info, "listening",
        "Check-ins over HTTP at " + listen.check_in_http->address + " port " +
            std::to_string(port.value()) + ".");
  }
  doors_ = std::make_unique<Doors>(
      Doors::Parts{io_.get_executor(), tasks_, admission_, *engine_, clock_, entropy_,
                   [this](bool answers) { engine_->broker(answers); }});
  if (const auto opened = doors_->open(settings_at_start_, stored_.controllers); !opened) {
    return opened;
  }
  commands_ = std::make_unique<Commands>(Commands::Parts{
      *engine_, *committer_, *store_thread_, clock_, [this] { return reload_keys(); }, *doors_});
  commands_->set_unmet_wishes(wishes_.unmet());
  commands_->set_set_aside(set_aside_remarks(settings_at_start_.watcher.state_dir));
  control_ = std::make_unique<ControlSocket>(io_.get_executor(), [this](const std::string& line) {
    return commands_->handle(boost::json::parse(line).as_object());
  });
  const auto board = open_board();
  return board ? control_->open(settings_at_start_.watcher.state_dir) : board;
}

Result<void> Daemon::open_board() {
  const auto& at = settings_at_start_.listen.board;
  if (!at) return {};
  auto passwords = open_password_store(settings_at_start_.watcher.state_dir);
  if (!passwords) return passwords.error();
  passwords_ = std::move(passwords.value());
  auto walls = open_wall_addresses(settings_at_start_.watcher.state_dir);
  if (!walls) return walls.error();
  walls_ = std::move(walls.value());
  StoreOptions beside;
  beside.sole_watcher = false;
  auto reading = open_store(settings_at_start_.watcher.state_dir, beside);
  if (!reading) return reading.error();
  reading_thread_ = std::make_unique<StoreThread>(std::move(reading.value()), io_.get_executor());
  board_handler_ = std::make_unique<BoardHandler>(BoardHandler::Parts{
      io_.get_executor(), *engine_, *committer_, *reading_thread_, clock_, entropy_,
      [this]() -> const std::string& { return commands_->configuration_refused(); },
      [this]() -> const std::vector<std::string>& { return wishes_.unmet(); },
      [this]() -> const std::vector<std::string>& { return commands_->set_aside(); }});
  HttpLimits limits;
  limits.connections_max = limits.connections_per_address_max = limits::board_connections_max;
  board_ = std::make_unique<HttpListener>(io_.get_executor(), *board_handler_, clock_, limits);
  const auto port = board_->open(at->address, at->port);
  if (!port) return port.error();
  say(Level::info, "listening",
      "The board at " + at->address + " port " + std::to_string(port.value()) + ".");
  return reload_passwords();
}

Result<void> Daemon::reload_passwords() {
  if (!passwords_) return {};
  const auto rows = passwords_->passwords();
  if (!rows) return rows.error();
  const auto walls = walls_->addresses();
  if (!walls) return walls.error();
  board_handler_->use(rows.value(), walls.value());
  if (rows.value().empty()) {
    say(Level::warning, "board_locked",
        "The board has no password, so nobody can enter. Set one: ebbwatch board-password host");
  }
  return {};
}

Result<void> Daemon::reload_keys() {
  auto rows = keys_->keys();
  if (!rows) return rows.error();
  admission_.replace_keys(KeyTable(rows.value()));
  // A second copy of what people could not check in or log in without.
  if (const auto kept = keep_copy(settings_at_start_.watcher.state_dir); !kept) {
    say(Level::warning, "copy_not_kept", kept.error().text);
  }
  return reload_passwords();
}

void Daemon::start() {
  engine_->start(stored_);
  stored_ = {};
  tasks_.start("check-in listener", Tasks::Role::essential, [this] { return listener_->run(); });
  if (board_) {
    tasks_.start("board listener", Tasks::Role::essential, [this] { return board_->run(); });
  }
  doors_->start();
  tasks_.start("control socket", Tasks::Role::essential, [this] { return control_->run(); });
  start_uplink();
  keeper_->start();
  wait_for_signal();
  const auto count = engine_->watch().plan().controllers.size();
  say(Level::info, "started",
      "Watcher " + engine_->settings().watcher.name + " watches " + std::to_string(count) +
          " controllers.");
  service_.ready("Watching " + std::to_string(count) + " controllers");
}

void Daemon::start_uplink() {
  const auto& watcher = engine_->settings().watcher;
  const auto round = ++uplink_round_;
  if (watcher.uplink_references.empty()) return;
  tasks_.start("own-link check", Tasks::Role::helper,
               [this, round, references = watcher.uplink_references, every = watcher.uplink_every] {
                 return check_uplink(references, every,
                                     [this, round](ReferenceIndex reference, bool answered) {
                                       if (round == uplink_round_)
                                         engine_->uplink(reference, answered);
                                     });
               });
}

void Daemon::wait_for_signal() {
  signals_.async_wait([this](const boost::system::error_code& error, int signal) {
    if (error) return;
    if (signal == SIGHUP) {
      reload();
      wait_for_signal();
    } else {
      begin_stop(signal == SIGTERM ? "SIGTERM" : "SIGINT");
    }
  });
}

void Daemon::reload() {
  service_.reloading();
  auto loaded = load_settings(file_);
  std::string refused;
  if (!loaded.problems.empty()) {
    for (const auto& line : problem_lines(loaded)) {
      say(Level::error, "settings_problem", line);
      refused += (refused.empty() ? "" : "\n") + line;
    }
  } else if (auto notifiers = make_notifiers(loaded.settings); !notifiers) {
    refused = notifiers.error().text;
    say(Level::error, "settings_problem", refused);
  } else if (auto keys = WitnessService::read_keys(loaded.settings); !keys) {
    refused = keys.error().text;
  } else if (const auto used = gateway_calls_.use(loaded.settings); !used) {
    refused = used.error().text;
    say(Level::error, "settings_problem", refused);
  } else {
    warn_of_unavailable(loaded.settings);
    const auto& now = engine_->settings();
    if (needs_restart(now, loaded.settings)) {
      say(Level::warning, "restart_needed",
          "A change of watcher.name, watcher.state_dir or listen takes effect at the next start.");
    }
    Settings settled = wishes_.settle(std::move(loaded.settings));
    add_watched_witnesses(settled);
    witnesses_->use(settled, std::move(keys.value()));
    engine_->reload(std::move(settled), std::move(notifiers.value()));
    commands_->set_unmet_wishes(wishes_.unmet());
    commands_->set_set_aside(set_aside_remarks(settings_at_start_.watcher.state_dir));
    start_uplink();
    if (const auto read = reload_keys(); !read) say(Level::error, "keys", read.error().text);
    say(Level::info, "reloaded", "The settings were read again and are in force.");
  }
  if (!refused.empty()) {
    say(Level::error, "reload_refused", "The settings that were in force stay in force.");
  }
  commands_->set_configuration_refused(refused);
  service_.ready("Watching " + std::to_string(engine_->watch().plan().controllers.size()) +
                 " controllers");
}

void Daemon::begin_stop(const std::string& why) {
  if (stopping_) return;
  stopping_ = true;
  say(Level::info, "stopping", "Stopping: " + why + ".");
  service_.stopping();
  signals_.cancel();
  listener_->stop();
  doors_->stop();
  if (board_) {
    board_handler_->stop();
    board_->stop();
  }
  control_->stop();
  keeper_->stop();
  witnesses_->stop();
  engine_->stop([this] { finish_deliveries(); });
}

void Daemon::finish_deliveries() {
  // Attempts under way get a little time, so that their answers are stored and nothing is sent
  // twice.
  tasks_.on_ended([this] {
    if (engine_->dispatcher().in_flight() == 0) stop_timer_.cancel();
  });
  stop_timer_.expires_after(engine_->dispatcher().in_flight() == 0 ? std::chrono::seconds(0)
                                                                   : delivery_grace);
  stop_timer_.async_wait([this](const boost::system::error_code&) {
    tasks_.on_ended({});
    tasks_.cancel_all();
    engine_->dispatcher().close();
    // Cancelled coroutines and the last commits end in the turns that follow; then run() returns
    // because nothing is left to do.
    committer_->stop();
  });
}

void Daemon::feed_watchdog() {
  if (!stopping_) service_.alive();
}

}  // namespace

int run_daemon(const std::string& configuration_file) {
  prepare_process();
  set_invariant_report(report_invariant);
  return Daemon(configuration_file).run();
}

}  // namespace ebbwatch
