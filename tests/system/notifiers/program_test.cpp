// The program notifier with tests/counterparts/program.sh.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>

#include "set_ups.h"

using namespace ebbwatch;
using namespace ebbwatch::test;
using namespace std::chrono_literals;

namespace {

// One run of the script; its log is in `log`.
struct Run {
  Bench bench;
  Attempts attempts;
  std::string log;
  const Outcome& outcome() const { return attempts.outcomes.front(); }
};

void run(Run& run, std::vector<std::string> arguments, Span limit = Span::of_s(10)) {
  auto settings = program_to(run.bench, std::move(arguments));
  settings.program.time_limit = limit;
  const auto notifier = run.bench.make(settings);
  run.attempts = run.bench.deliver_all(*notifier, {loss_message()});
  run.log = read_file(run.bench.path("program.log"));
}

bool has_no_children() {
  return waitpid(-1, nullptr, WNOHANG) < 0 && errno == ECHILD;
}

bool is_alive(const std::string& pid_file) {
  const pid_t pid = std::stoi("0" + read_file(pid_file));
  REQUIRE(pid > 1);
  // A zombie of init's counts as gone: it answers to no signal but is still in the table.
  const std::string state = read_file("/proc/" + std::to_string(pid) + "/stat");
  return !state.empty() && state.find(") Z ") == std::string::npos;
}

}  // namespace

TEST_CASE("program: the notice comes on standard input as one line of JSON") {
  Run made;
  run(made, {"accept"});
  CHECK(kind_of(made.outcome()) == "delivered");
  const auto notices = made.bench.log("program.log");
  REQUIRE(notices.size() == 1);
  const Message message = loss_message();
  CHECK(text_at(notices[0], "/notice") == message.notice);
  CHECK(text_at(notices[0], "/attempt") == "1");
  CHECK(text_at(notices[0], "/type") == "ebbwatch.loss");
  CHECK(text_at(notices[0], "/outage") == "harbour-17");
  CHECK(text_at(notices[0], "/subject") == "lagoon");
  CHECK(text_at(notices[0], "/decided_at") == "2022-02-22T19:22:22.000Z");
  CHECK(text_at(notices[0], "/to/keyholder") == "robin");
  CHECK(text_at(notices[0], "/to/phone") == "+15550100");
  CHECK(text_at(notices[0], "/title") == message.subject);
  CHECK(text_at(notices[0], "/text") == message.text);
  CHECK(text_at(notices[0], "/short_text") == message.short_text);
  CHECK(text_at(notices[0], "/data/decision") == "loss");
}

TEST_CASE("program: it gets a clean world") {
  setenv("EBBWATCH_TEST_SECRET", "must not be seen", 1);
  const int leak = open("/dev/null", O_RDONLY);  // Without close-on-exec, as some library might.
  REQUIRE(leak > 2);
  Run made;
  run(made, {"look"});
  close(leak);
  unsetenv("EBBWATCH_TEST_SECRET");
  // 3 is the listing program's own.
  CHECK(made.log.find("0 1 2 3 \n") == 0);
  CHECK(made.log.find("EBBWATCH_NOTICE=" + loss_message().notice) != std::string::npos);
  CHECK(made.log.find("EBBWATCH_PHONE=+15550100\n") != std::string::npos);
  CHECK(made.log.find("PATH=/usr/local/bin:/usr/bin:/bin\n") != std::string::npos);
  CHECK(made.log.find("must not be seen") == std::string::npos);
  CHECK(made.log.find("HOME=") == std::string::npos);
  CHECK(made.log.find("\n/\n") != std::string::npos);
  const auto group = made.log.find("group ");
  REQUIRE(group != std::string::npos);
  const std::string numbers = made.log.substr(group + 6);
  const std::string number = numbers.substr(0, numbers.find(' '));
  CHECK(numbers.find("self " + number + "\n") != std::string::npos);
}

// sysexits.h; what has no number there may pass, so it is tried again.
TEST_CASE("program: every exit status has a meaning") {
  struct Meaning {
    const char* status;
    const char* kind;
  };
  for (const Meaning meaning :
       {Meaning{"0", "delivered"}, Meaning{"75", "retry_later"}, Meaning{"1", "retry_later"},
        Meaning{"69", "retry_later"}, Meaning{"64", "rejected_forever"},
        Meaning{"67", "rejected_forever"}, Meaning{"77", "rejected_forever"},
        Meaning{"78", "rejected_forever"}, Meaning{"127", "rejected_forever"},
        Meaning{"255", "retry_later"}}) {
    CAPTURE(meaning.status);
    Run made;
    run(made, {"exit", meaning.status});
    CHECK(kind_of(made.outcome()) == meaning.kind);
  }
  Run killed;
  run(killed, {"hang_up"});
  CHECK(kind_of(killed.outcome()) == "unknown");
  CHECK(killed.outcome().answer == "ended by signal 9");
}

TEST_CASE("program: at its time limit the whole group ends, also one that ignores TERM") {
  Run made;
  run(made, {"hang"}, Span::of_s(1));
  CHECK(kind_of(made.outcome()) == "unknown");
  CHECK(made.outcome().answer == "stopped at its time limit");
  CHECK(made.attempts.took > Span::of_s(1));
  CHECK(made.attempts.took < Span::of_s(8));
  CHECK(holds_within(2s, [&] { return !is_alive(made.bench.path("program.log.leader")); }));
  CHECK(holds_within(2s, [&] { return !is_alive(made.bench.path("program.log.child")); }));
  CHECK(has_no_children());
}

TEST_CASE("program: cancelling kills the group and leaves no zombie") {
  Bench bench;
  const auto notifier = bench.make(program_to(bench, {"hang"}));
  CHECK(bench.cancelled(*notifier, loss_message(), Span::of_ms(500)));
  CHECK(holds_within(2s, [&] { return !is_alive(bench.path("program.log.child")); }));
  CHECK(has_no_children());
}

TEST_CASE("program: what it says is kept up to a limit, and much of it stops nothing") {
  Run made;
  run(made, {"chatter"});
  CHECK(kind_of(made.outcome()) == "delivered");
  CHECK(made.log == "done\n");
  CHECK(made.outcome().answer.find("exit status 0: a line of sixty-four") == 0);
  CHECK(made.outcome().answer.size() <= limits::answer_text_bytes_max);
  CHECK(made.attempts.longest_stall < Span::of_ms(800));
}

TEST_CASE("program: one that does not read its input does us no harm") {
  Run made;
  run(made, {"deaf"});
  CHECK(kind_of(made.outcome()) == "delivered");
  CHECK(made.outcome().answer == "exit status 0: read nothing");
}

TEST_CASE("program: a process that it leaves running is neither waited for nor killed") {
  Run made;
  run(made, {"leave"});
  CHECK(kind_of(made.outcome()) == "delivered");
  CHECK(made.attempts.took < Span::of_s(1));
  CHECK(is_alive(made.bench.path("program.log")));
  CHECK(holds_within(5s, [&] { return !is_alive(made.bench.path("program.log")); }));
}

TEST_CASE("program: no zombies, whatever the end") {
  for (const char* behaviour : {"accept", "refuse", "later", "hang_up", "deaf"}) {
    Run made;
    run(made, {behaviour});
    CHECK(has_no_children());
  }
}

TEST_CASE("program: one that is not there or may not be run is refused for good") {
  Bench bench;
  auto settings = program_to(bench, {"accept"});
  settings.program.command = {"/nowhere/siren"};
  const Outcome missing = bench.deliver(*bench.make(settings), loss_message());
  CHECK(kind_of(missing) == "rejected_forever");
  CHECK(missing.answer == "/nowhere/siren: No such file or directory");
  write_file(bench.path("siren"), "no program", 0600);
  settings.program.command = {bench.path("siren")};
  CHECK(kind_of(bench.deliver(*bench.make(settings), loss_message())) == "rejected_forever");
  settings.program.command = {"siren"};
  CHECK(bench.fault(settings).find("write the whole path") != std::string::npos);
  settings.program.command.clear();
  CHECK(bench.fault(settings).find("notifier siren: command") == 0);
}
