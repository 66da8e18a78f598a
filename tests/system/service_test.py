"""How the daemon behaves towards its service manager and its administrator: readiness and signs of
life (sd_notify(3): the strings are from systemd 252's manual page), reload, stop, exit status, and a
state folder that cannot be used."""
import os
import pathlib
import shutil
import signal
import socket
import sqlite3
import subprocess
import tempfile
import unittest

from harness import BIN, PATIENCE, Catchers, Watcher, wait_until


class Service(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm"])

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def test_ready_alive_reloading_stopping(self):
        path = str(self.watcher.folder / "notify.sock")
        manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        manager.bind(path)
        manager.settimeout(PATIENCE)
        self.watcher.start({"NOTIFY_SOCKET": path, "WATCHDOG_USEC": "20000000"})
        words = manager.recv(4096).decode()
        self.assertIn("READY=1\n", words + "\n")
        self.assertIn("STATUS=", words)
        self.assertEqual(manager.recv(4096).decode(), "WATCHDOG=1")
        self.watcher.process.send_signal(signal.SIGHUP)
        heard = []
        while "READY=1" not in "\n".join(heard):
            heard.append(manager.recv(4096).decode())
        self.assertIn("RELOADING=1", heard)
        self.watcher.process.send_signal(signal.SIGTERM)
        while heard[-1] != "STOPPING=1":
            heard.append(manager.recv(4096).decode())
        self.assertEqual(self.watcher.process.wait(PATIENCE), 0)

    def test_broken_reload_changes_nothing_and_says_so(self):
        self.watcher.enrol("elm-main")
        self.watcher.start()
        self.assertEqual(self.watcher.check_in("elm-main"), 204)
        good = self.watcher.config.read_text()
        self.watcher.config.write_text(good.replace("on_delay", "on_dealy"))
        self.watcher.process.send_signal(signal.SIGHUP)
        wait_until(lambda: "configuration_refused" in self.watcher_status(good), "the refusal in status")
        self.assertIn("on_dealy", self.watcher.log_text())
        self.assertIn("on_delay", self.watcher.log_text())
        self.assertEqual(self.watcher.check_in("elm-main"), 204)
        # A good file is taken, with a further site, and contact goes on.
        self.watcher.config.write_text(good.replace("notifiers:", """  - id: ash
    name: Site ash
    call_list: everyday
    tanks: [{id: ash-tank, name: Ash, controllers: [{id: ash-main, interval: 1s, supply: mains}]}]
notifiers:""", 1))
        self.watcher.process.send_signal(signal.SIGHUP)
        status = wait_until(lambda: len(self.watcher.status()["sites"]) == 2 and self.watcher.status(),
                            "the new site")
        self.assertNotIn("configuration_refused", status)
        self.assertIsNotNone(status["sites"][0]["tanks"][0]["controllers"][0]["last_heard"])
        self.watcher.enrol("ash-main")
        self.assertEqual(self.watcher.check_in("ash-main"), 204)

    def watcher_status(self, good):
        """The command line reads the file too, so it needs a good one for the moment."""
        broken = self.watcher.config.read_text()
        other = self.watcher.folder / "good.yaml"
        other.write_text(good)
        done = subprocess.run([BIN / "ebbwatch", "--config", other, "status", "--json"],
                              capture_output=True, text=True, timeout=PATIENCE, check=True)
        self.assertEqual(self.watcher.config.read_text(), broken)
        return done.stdout

    def test_stops_in_good_order_on_both_signals(self):
        for number in (signal.SIGTERM, signal.SIGINT):
            self.watcher.start()
            self.watcher.process.send_signal(number)
            self.assertEqual(self.watcher.process.wait(PATIENCE), 0)
        kinds = [line.split(",")[2] for line in
                 self.watcher.command("history", "--as", "trace").stdout.splitlines()[1:]]
        self.assertEqual(kinds, ["start", "stop", "start", "stop"])

    def test_two_daemons_do_not_share_a_folder(self):
        self.watcher.start()
        second = subprocess.run([BIN / "ebbwatchd", "--config", self.watcher.config],
                                capture_output=True, text=True, timeout=PATIENCE)
        self.assertEqual(second.returncode, 1)
        self.assertIn("ebbwatch", second.stderr)
        self.assertTrue(self.watcher.answers())


class Trouble(unittest.TestCase):
    """Bad configuration and bad state folders: a clear word, the right exit status, nothing touched."""

    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm"])
        self.database = self.watcher.folder / "state" / "ebbwatch.sqlite3"

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def run_daemon(self):
        return subprocess.run([BIN / "ebbwatchd", "--config", self.watcher.config],
                              capture_output=True, text=True, timeout=PATIENCE)

    def test_all_problems_of_a_file_in_one_run_and_exit_2(self):
        text = self.watcher.config.read_text()
        self.watcher.config.write_text(text.replace("interval: 1s", "interval: 60")
                                           .replace("tell: [robin]", "tell: [robyn]"))
        for done in (self.run_daemon(), self.watcher.command("check-config", check=False)):
            self.assertEqual(done.returncode, 2)
            self.assertIn("interval", done.stderr)
            self.assertIn("robyn", done.stderr)
            self.assertIn("robin", done.stderr)
            self.assertRegex(done.stderr, r"ebbwatch\.yaml:\d+:\d+: ")

    def test_missing_secret_is_named_and_exit_2(self):
        (self.watcher.folder / "hook.key").unlink()
        done = self.run_daemon()
        self.assertEqual(done.returncode, 2)
        self.assertIn("hook.key", done.stderr)

    def test_database_of_a_newer_version_is_left_alone(self):
        self.watcher.enrol("elm-main")
        with sqlite3.connect(self.database) as database:
            database.execute("PRAGMA user_version = 9999")
        database.close()
        before = self.database.read_bytes()
        done = self.run_daemon()
        self.assertEqual(done.returncode, 1)
        self.assertIn("later version", done.stderr)
        self.assertEqual(self.database.read_bytes(), before)

    def test_locked_database_delays_nothing_and_loses_nothing(self):
        self.watcher.enrol("elm-main")
        self.watcher.start()
        self.assertEqual(self.watcher.check_in("elm-main"), 204)
        blocker = sqlite3.connect(self.database, isolation_level=None)
        blocker.execute("BEGIN IMMEDIATE")
        # Silent from now on; the loss must be told although nothing can be stored.
        wait_until(lambda: self.catchers.mails, "the loss to be told while the store is locked")
        self.assertIn("store", self.watcher.log_text())
        wait_until(lambda: self.watcher.status()["store"] != "working", "status to say so")
        blocker.execute("ROLLBACK")
        blocker.close()
        wait_until(lambda: self.watcher.status()["store"] == "working", "the store to work again")
        self.assertEqual([d["decision"] for d in self.watcher.history()], ["loss"])
        self.assertEqual(len(self.catchers.mails), 1)

    def test_disk_that_fills_up_is_said_and_deciding_goes_on(self):
        """A full file system: the state folder on a tmpfs of 1 MiB, filled to the last block."""
        if os.geteuid() != 0 or shutil.which("mount") is None:
            self.skipTest("needs root to mount a small file system")
        state = self.watcher.folder / "state"
        state.mkdir()
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", state],
                                 capture_output=True, text=True)
        if mounted.returncode != 0:
            self.skipTest("cannot mount here: " + mounted.stderr.strip())
        try:
            self.watcher.enrol("elm-main")
            self.watcher.start()
            self.assertEqual(self.watcher.check_in("elm-main"), 204)
            wait_until(lambda: self.watcher.status()["sites"][0]["tanks"][0]["controllers"][0]
                       ["contact"] == "present", "elm to be present")
            filler = state / "filler"
            with open(filler, "wb", buffering=0) as file:
                try:
                    while True:
                        file.write(b"x" * 4096)
                except OSError:
                    pass
            wait_until(lambda: self.catchers.mails, "the loss to be told on a full disk")
            wait_until(lambda: self.watcher.status()["store"] != "working", "status to say so")
            filler.unlink()
            wait_until(lambda: self.watcher.status()["store"] == "working", "the store to work again")
            self.assertEqual([d["decision"] for d in self.watcher.history()], ["loss"])
            self.watcher.kill()
        finally:
            subprocess.run(["umount", "-l", state], check=False)


class Install(unittest.TestCase):
    def test_installs_everything_and_the_sample_is_sound(self):
        build = pathlib.Path(os.environ["EBBWATCH_BUILD_DIR"])
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run(["cmake", "--install", build], check=True, capture_output=True,
                           env={**os.environ, "DESTDIR": folder})
            root = pathlib.Path(folder)
            names = {path.name: path for path in root.rglob("*") if path.is_file()}
            for name in ("ebbwatchd", "ebbwatch", "ebbwatch.service", "ebbwatch.conf",
                         "ebbwatch.yaml.sample", "LICENSE"):
                self.assertIn(name, names)
            unit = names["ebbwatch.service"].read_text()
            self.assertIn("Type=notify", unit)
            self.assertNotIn("@", unit.split("ExecStart=")[1].split("\n")[0])
            sample = names["ebbwatch.yaml.sample"]
            checked = subprocess.run([names["ebbwatch"], "--config", sample, "check-config"],
                                     capture_output=True, text=True)
            # Secrets are the owner's to make; anything else in the sample must be sound.
            self.assertNotIn("ebbwatch.yaml.sample:", checked.stderr)


if __name__ == "__main__":
    unittest.main()
