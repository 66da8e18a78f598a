"""The main job with the real daemon: a blip costs nothing, a loss is told once by every way, the
recovery reaches whoever was told, and everything can be read back."""
import datetime
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until


class MainJob(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "oak"], on_delay="3s", min_missed=3)
        self.watcher.enrol("elm-main", "oak-main")
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["elm-main", "oak-main"], 0.5)
        self.loop.start()

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def contact(self, site):
        return next(s for s in self.watcher.status()["sites"] if s["id"] == site)["contact"]

    def controller(self, site):
        sites = {s["id"]: s for s in self.watcher.status()["sites"]}
        return sites[site]["tanks"][0]["controllers"][0]

    def test_blip_then_loss_then_recovery(self):
        wait_until(lambda: self.controller("oak")["contact"] == "present", "oak to be present")
        # A blip: overdue, then present again, and nothing told.
        self.loop.silent.add("oak-main")
        wait_until(lambda: self.controller("oak")["contact"] == "overdue", "oak to be overdue")
        self.loop.silent.clear()
        wait_until(lambda: self.controller("oak")["contact"] == "present", "oak to be back")
        self.assertEqual(self.watcher.history(), [])

        self.loop.silent.add("oak-main")
        wait_until(lambda: len(self.catchers.mails) and len(self.catchers.hooks) and
                   len(self.catchers.texts), "the loss to arrive by all three ways")
        self.assertEqual(self.contact("oak"), "lost")
        self.assertEqual(self.contact("elm"), "in_contact")
        mail = self.catchers.mails[0]
        self.assertIn("Site oak", mail["Subject"])
        self.assertEqual(mail["Auto-Submitted"], "auto-generated")
        self.assertIn("Site oak", self.catchers.texts[0]["text"][:60])
        self.assertEqual(self.catchers.texts[0]["to"], "+15550100")
        event = self.catchers.hooks[0][1]
        self.assertEqual((event["specversion"], event["type"], event["subject"]),
                         ("1.0", "ebbwatch.loss", "oak"))
        self.assertEqual(event["data"]["decision"], "loss")

        self.loop.silent.clear()
        wait_until(lambda: len(self.catchers.mails) == 2 and len(self.catchers.hooks) == 2 and
                   len(self.catchers.texts) == 2, "the recovery to arrive by all three ways")
        back = self.catchers.mails[1]
        self.assertEqual(back["In-Reply-To"], mail["Message-ID"])
        self.assertNotEqual(back["Message-ID"], mail["Message-ID"])
        self.assertEqual(self.catchers.hooks[1][1]["type"], "ebbwatch.recovery")
        self.assertEqual(self.contact("oak"), "in_contact")
        self.check_history()

    def check_history(self):
        """FORMATS section 5, with `at`."""
        decisions = self.watcher.history()
        self.assertEqual([d["decision"] for d in decisions], ["loss", "recovery"])
        loss, recovery = decisions
        self.assertEqual((loss["scope"], loss["subject"]), ("site", "oak"))
        self.assertEqual(loss["outage"], recovery["outage"])
        for decision in decisions:
            self.assertIn(decision["cause"], ["mains_power", "internet", "controller",
                                              "watcher_uplink", "undetermined"])
            self.assertTrue(0 <= decision["confidence"] <= 1)
            self.assertTrue(decision["evidence"])
            at = datetime.datetime.fromisoformat(decision["at"].replace("Z", "+00:00"))
            self.assertLess(decision["since_s"], at.timestamp())
        self.assertNotIn("time_s", loss)


class Acknowledge(unittest.TestCase):
    def test_acknowledged_outage_is_shown_and_a_wrong_one_refused(self):
        catchers = Catchers()
        watcher = Watcher(catchers, ["elm", "oak"])
        watcher.enrol("elm-main", "oak-main")
        watcher.start()
        loop = CheckInLoop(watcher, ["elm-main", "oak-main"], 0.5)
        loop.start()
        try:
            wait_until(lambda: watcher.status()["sites"][1]["tanks"][0]["controllers"][0]["last_heard"],
                       "oak to be heard")
            loop.silent.add("oak-main")
            outage = wait_until(lambda: watcher.status()["outages"], "an outage")[0]["outage"]
            refused = watcher.command("acknowledge", "pier-999", "--by", "Robin", check=False)
            self.assertEqual(refused.returncode, 1)
            self.assertIn("pier-999", refused.stderr)
            watcher.command("acknowledge", outage, "--by", "Robin")
            self.assertEqual(watcher.status()["sites"][1]["alarm"], "acknowledged")
            # It is still so after a crash.
            watcher.kill()
            watcher.start()
            self.assertEqual(watcher.status()["sites"][1]["alarm"], "acknowledged")
            self.assertEqual(len([d for d in watcher.history() if d["decision"] == "loss"]), 1)
        finally:
            loop.stop()
            watcher.remove()
            catchers.stop()


if __name__ == "__main__":
    unittest.main()
