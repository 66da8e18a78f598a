"""The service unit: how far it shuts the daemon in (rated by systemd-analyze itself, systemd 252), and that
the daemon works there: a check-in, a loss, its notices, a reload and a restart under the unit's own
restrictions as sandbox.py applies them. Needs root, namespaces and Debian's python3-seccomp; skipped, and
said so, without."""
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import unittest

from harness import BIN, PATIENCE, Catchers, CheckInLoop, Watcher, wait_until

SOURCE = pathlib.Path(os.environ["EBBWATCH_SOURCE_DIR"])
UNIT = SOURCE / "systemd/ebbwatch.service"
DROP_INS = sorted((SOURCE / "systemd/drop-ins").glob("*.conf"))
SANDBOX = pathlib.Path(__file__).parent / "sandbox.py"
USER = 64117  # Nobody's.
GOAL = 1.5

# Run inside: prints what was possible although it should not be, one word a line.
PROBE = """
import ctypes, errno, mmap, os, pathlib, socket
def possible(name, action):
    try:
        action()
    except (OSError, PermissionError):
        return
    print(name)
def call(*arguments):
    if ctypes.CDLL(None, use_errno=True).syscall(*arguments) == -1:
        raise OSError(ctypes.get_errno(), "")
state = pathlib.Path({state!r})
possible("write-etc", lambda: pathlib.Path("/etc/ebbwatch-probe").write_text("x"))
possible("write-beside-state", lambda: (state.parent / "probe").write_text("x"))
possible("list-root-home", lambda: os.listdir("/root"))
possible("raw-disk-node", lambda: os.mknod("/dev/probe", 0o60600, os.makedev(7, 0)))
possible("kernel-log", lambda: open("/dev/kmsg"))
possible("serial", lambda: open("/dev/ttyS0"))
possible("kernel-settings", lambda: open("/proc/sys/kernel/hostname"))
possible("other-processes", lambda: open("/proc/1/status"))
possible("netlink", lambda: socket.socket(socket.AF_NETLINK, socket.SOCK_RAW))
possible("packets", lambda: socket.socket(socket.AF_PACKET, socket.SOCK_DGRAM))
possible("new-user-namespace", lambda: call(272, 0x10000000))
possible("set-id-file", lambda: (state / "probe").touch() or os.chmod(state / "probe", 0o4755))
possible("write-and-execute", lambda: mmap.mmap(-1, 4096, prot=mmap.PROT_READ | mmap.PROT_WRITE | mmap.PROT_EXEC))
possible("become-root", lambda: os.setuid(0))
possible("other-personality", lambda: call(135, 8))
possible("trace", lambda: call(101, 0, 0, 0, 0))
possible("priority", lambda: os.setpriority(os.PRIO_PROCESS, 0, 5))
# And what must be possible.
(state / "probe").write_text("x")
pathlib.Path("/tmp/probe").write_text("x")
socket.socket(socket.AF_INET, socket.SOCK_STREAM).close()
assert open("/dev/urandom", "rb").read(1)
print("end")
"""

PROGRAM = """#!/bin/sh
# Keeps the notice where the service may write.
cat >>"{state}/told.json"
"""



def analyze(*arguments):
    done = subprocess.run(["systemd-analyze", "--no-pager", *arguments], capture_output=True, text=True,
                          timeout=PATIENCE)
    return done.returncode, done.stdout + done.stderr


class Unit(unittest.TestCase):
    """What the files say, without running anything."""

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        text = UNIT.read_text().replace("/usr/bin/ebbwatchd", str(BIN / "ebbwatchd"))
        self.file = self.folder / "ebbwatch.service"
        self.file.write_text(text)

    def tearDown(self):
        shutil.rmtree(self.folder)

    def rating(self, *drop_ins):
        place = self.folder / "ebbwatch.service.d"
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir()
        for file in drop_ins:
            shutil.copy(file, place)
        status, said = analyze("verify", "--man=no", str(self.file))
        self.assertEqual((status, said), (0, ""))
        said = analyze("security", "--offline=yes", str(self.file))[1]
        return float(re.search(r"Overall exposure level for \S+: ([\d.]+)", said).group(1))

    def test_little_is_left_open(self):
        self.assertLessEqual(self.rating(), GOAL)
        status, said = analyze("security", "--offline=yes", f"--threshold={int(10 * GOAL)}", str(UNIT))
        self.assertEqual(status, 0, said)

    def test_each_drop_in_opens_something_and_not_much(self):
        self.assertEqual([file.name for file in DROP_INS], ["modem.conf", "program.conf"])
        plain = self.rating()
        for file in DROP_INS:
            opened = self.rating(file)
            self.assertGreater(opened, plain, file.name)
            self.assertLessEqual(opened, 2.0, file.name)

    def test_a_wrong_key_would_be_seen(self):
        self.file.write_text(self.file.read_text().replace("ProtectHome=", "ProtectHomes="))
        self.assertIn("ProtectHomes", analyze("verify", "--man=no", str(self.file))[1])


class Sandboxed(Watcher):
    """A daemon in the sandbox, in a folder that its restrictions leave in sight."""

    def __init__(self, catchers, units):
        tempfile.tempdir = "/var/lib"
        try:
            super().__init__(catchers, ["elm"])
        finally:
            tempfile.tempdir = None
        self.folder.chmod(0o755)
        self.state = self.folder / "state"
        self.units = units
        self.program = self.folder / "ebbwatchd"
        shutil.copy(BIN / "ebbwatchd", self.program)
        teller = self.folder / "tell"
        teller.write_text(PROGRAM.format(state=self.state))
        teller.chmod(0o755)
        text = self.config.read_text().replace("{file: hook.key}", "{credential: hook-key}").replace(
            "keyholders:", f"  - {{id: teller, kind: program, command: [{teller}]}}\nkeyholders:").replace(
            "by: [hook]}", "by: [hook, teller]}").replace(
            "      - {after: 0min, tell: [robin], by: [mail]}",
            "      - {after: 0min, tell: [robin], by: [mail]}\n      - {after: 0min, tell: [robin], by: [teller]}")
        self.config.write_text(text)
        self.enrol("elm-main")
        self.hand_over()

    def hand_over(self):
        """The state belongs to the service's user, as StateDirectory= makes it."""
        for place in [self.state, *self.state.rglob("*")]:
            os.chown(place, USER, USER)

    def inside(self, *command):
        units = [word for file in self.units for word in ("--unit", str(file))]
        return [sys.executable, str(SANDBOX), *units, "--user", str(USER), "--state", str(self.state),
                "--credential", f"hook-key={self.folder / 'hook.key'}", "--", *map(str, command)]

    def arguments(self):
        return self.inside(self.program, "--config", self.config)

    def start(self, environment=None):
        # The leak check of a sanitizer build would trace, which is forbidden.
        leaks = os.environ.get("ASAN_OPTIONS", "") + ":detect_leaks=0"
        return super().start({"ASAN_OPTIONS": leaks, **(environment or {})})


class Service(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Sandboxed(self.catchers, [UNIT])
        self.loop = None

    def tearDown(self):
        if self.loop:
            self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def probe(self, *drop_ins):
        self.watcher.units = [UNIT, *drop_ins]
        done = subprocess.run(self.watcher.inside(sys.executable, "-c", PROBE.format(state=str(self.watcher.state))),
                              capture_output=True, text=True, timeout=PATIENCE)
        self.assertEqual(done.stderr, "")
        return done.stdout.split()

    def test_the_restrictions_hold(self):
        self.assertEqual(self.probe(), ["end"])

    def test_the_drop_in_for_programs_opens_what_it_says(self):
        program = next(file for file in DROP_INS if file.name == "program.conf")
        self.assertEqual(self.probe(program), ["netlink", "write-and-execute", "priority", "end"])

    def process_status(self, key):
        text = pathlib.Path(f"/proc/{self.watcher.process.pid}/status").read_text()
        return re.search(rf"^{key}:\s+(.*)$", text, re.M).group(1)

    def look_at_process(self):
        self.assertEqual(self.process_status("Uid").split(), [str(USER)] * 4)
        for kind in ("CapInh", "CapPrm", "CapEff", "CapBnd", "CapAmb"):
            self.assertEqual(int(self.process_status(kind), 16), 0, kind)
        self.assertEqual((self.process_status("NoNewPrivs"), self.process_status("Seccomp")), ("1", "2"))
        limits = pathlib.Path(f"/proc/{self.watcher.process.pid}/limits").read_text()
        self.assertRegex(limits, r"Max core file size +0 +0 ")

    def notices(self, word):
        """How often each way has told of it."""
        told = self.watcher.state / "told.json"
        return (sum(word in text["text"] for text in self.catchers.texts),
                sum(word in str(message["subject"]) for message in self.catchers.mails),
                told.read_text().count("elm") if told.exists() else 0)

    def contact(self):
        return self.watcher.status()["sites"][0]["tanks"][0]["controllers"][0]["contact"]

    def test_watches_tells_reloads_and_restarts(self):
        self.watcher.start()
        self.look_at_process()
        self.loop = CheckInLoop(self.watcher, ["elm-main"], 0.3)
        self.loop.start()
        wait_until(lambda: self.contact() == "present", "contact")
        self.watcher.process.send_signal(signal.SIGHUP)
        wait_until(lambda: "read again" in self.watcher.log_text() or "reloaded" in self.watcher.log_text(),
                   "the reload")
        self.loop.silent.add("elm-main")
        wait_until(lambda: self.contact() == "silent", "the loss")
        wait_until(lambda: all(count > 0 for count in self.notices("elm")), "notices by text, mail and program")
        self.assertEqual(self.watcher.terminate(), 0)

        self.watcher.start()
        self.assertEqual(self.contact(), "silent")  # What was stored is there.
        self.loop.silent.clear()
        wait_until(lambda: self.contact() == "present", "the return")
        for word in ("EPERM", "not permitted", "Read-only", "store_failed"):
            self.assertNotIn(word, self.watcher.log_text())
        self.assertEqual(self.watcher.terminate(), 0)


def can_run():
    if os.geteuid() != 0:
        return "it needs root"
    if subprocess.run([sys.executable, "-c", "import seccomp"], capture_output=True).returncode != 0:
        return "it needs Debian's python3-seccomp"
    if subprocess.run(["unshare", "--mount", "--user", "true"], capture_output=True).returncode != 0:
        return "it needs mount and user namespaces"
    return ""


if __name__ == "__main__":
    if not shutil.which("systemd-analyze") or can_run():
        print("skipped:", can_run() or "it needs systemd-analyze")
        sys.exit(77)
    unittest.main(verbosity=2)
