"""Who is called: stand-ins and hours, with the real daemon."""
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until


class People(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm"])
        self.watcher.enrol("elm-main")
        text = self.watcher.config.read_text()
        text = text.replace("keyholders:\n", 'keyholders:\n  - {id: kim, name: Kim, email: kim@example.net,'
                            ' phone: "+15550142"}\n')
        self.watcher.config.write_text(text)
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["elm-main"], 0.5)
        self.loop.start()
        wait_until(lambda: self.watcher.status()["sites"][0]["tanks"][0]["controllers"][0]["last_heard"],
                   "the controller to be heard")

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def mails_to(self, address):
        return [m for m in self.catchers.mails if address in m["To"]]

    def test_a_stand_in_is_called_also_after_a_crash_and_until_it_is_ended(self):
        refused = self.watcher.command("stand-in", "robin", "kim", check=False)
        self.assertIn("Give either --for 7d", refused.stderr)
        refused = self.watcher.command("stand-in", "robin", "kym", "--for", "1d", check=False)
        self.assertIn("There is no keyholder 'kym'", refused.stderr)
        done = self.watcher.command("stand-in", "robin", "kim", "--for", "1d").stdout
        self.assertIn("kim is called in place of robin", done)
        self.watcher.kill()
        self.watcher.start()
        self.assertEqual([row["stand_in"] for row in self.watcher.status()["stand_ins"]], ["kim"])
        self.assertIn("kim for robin", self.watcher.command("status").stdout)
        self.loop.silent.add("elm-main")
        wait_until(lambda: self.mails_to("kim@example.net"), "the loss to the stand-in")
        self.assertEqual(self.mails_to("robin@example.net"), [])
        self.loop.silent.clear()
        wait_until(lambda: len(self.mails_to("kim@example.net")) == 2, "the recovery to the stand-in")
        self.watcher.command("stand-in", "robin", "--end")
        self.assertEqual(self.watcher.status()["stand_ins"], [])
        self.loop.silent.add("elm-main")
        wait_until(lambda: self.mails_to("robin@example.net"), "the next loss to robin again")
        acts = [row["decision"] for row in self.watcher.history() if "stand" in row["decision"]]
        self.assertEqual(acts, ["stand_in", "stand_in_ended"])


if __name__ == "__main__":
    unittest.main()
