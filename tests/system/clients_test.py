"""The client examples in tools/clients against the real daemon."""
import importlib.util
import os
import pathlib
import shutil
import subprocess
import unittest

from harness import Catchers, Watcher, free_port

CLIENTS = pathlib.Path(__file__).resolve().parents[2] / "tools" / "clients"


class Clients(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm"], interval="60s", on_delay="5min")
        self.udp_port = free_port()
        with self.watcher.config.open("a") as config:
            config.write(f'  check_in_udp: {{address: "127.0.0.1", port: {self.udp_port}}}\n')
        self.watcher.enrol("elm-main")
        self.watcher.start()
        self.watcher.write_secret("elm.key", self.watcher.keys["elm-main"] + "\n")
        self.key_file = self.watcher.folder / "elm.key"

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def rows(self):
        trace = self.watcher.command("history", "--as", "trace").stdout
        return [line for line in trace.splitlines() if ",check-in," in line]

    def run_client(self, *command, key_file=None):
        return subprocess.run(command, capture_output=True, text=True, timeout=60, env={
            **os.environ, "EBBWATCH_URL": f"http://127.0.0.1:{self.watcher.port}",
            "EBBWATCH_KEY_FILE": str(key_file or self.key_file)})

    def check(self, *command):
        """It is taken with the right key, and says so when it is not."""
        done = self.run_client(*command, "power=battery")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.watcher.terminate()  # All is stored.
        self.assertRegex(self.rows()[-1], r"check-in,elm-main,.*battery$")
        self.watcher.start()

    def refused(self, *command):
        self.watcher.write_secret("wrong.key", "A" * 43 + "\n")
        done = self.run_client(*command, "power=mains", key_file=self.watcher.folder / "wrong.key")
        self.assertNotEqual(done.returncode, 0)

    def test_shell_with_curl(self):
        self.check(CLIENTS / "check-in.sh")
        self.refused(CLIENTS / "check-in.sh")

    @unittest.skipUnless(shutil.which("busybox"), "busybox is not installed")
    def test_busybox_wget(self):
        self.check("busybox", "sh", CLIENTS / "check-in-busybox.sh")
        self.refused("busybox", "sh", CLIENTS / "check-in-busybox.sh")

    def test_python_over_http_and_by_datagram(self):
        program = (str(CLIENTS / "check_in.py"), "--key-file", str(self.key_file))
        self.check(*program, "--url", f"http://127.0.0.1:{self.watcher.port}")
        self.check(*program, "--udp", f"127.0.0.1:{self.udp_port}", "--controller", "elm-main")
        done = self.run_client(*program, "--udp", f"127.0.0.1:{free_port()}", "--controller", "elm-main")
        self.assertEqual(done.returncode, 1)
        self.assertIn("no answer", done.stderr)

    def test_micropython_without_a_clock(self):
        spec = importlib.util.spec_from_file_location("board", CLIENTS / "check_in_micropython.py")
        board = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(board)
        it = board.CheckIn("127.0.0.1", self.udp_port, "elm-main", self.watcher.keys["elm-main"])
        for _ in range(3):
            self.assertTrue(it.send("power=mains,temperature_c=25.1"))
        counts = self.watcher.status()["check_in_udp"]
        self.assertEqual((counts["taken"], counts["wrong_mac"]), (3, 0))
        wrong = board.CheckIn("127.0.0.1", self.udp_port, "elm-main", "another")
        wrong.address = it.address
        self.assertFalse(wrong.ask("power=mains"))


if __name__ == "__main__":
    unittest.main()
