"""Putting away, with the real daemon: nothing is told while a tank is shelved, what is still silent
at the end is told at once, and all of it outlives a kill -9."""
import datetime
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until


def seconds_from_now(seconds):
    end = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(seconds=seconds)
    return end.isoformat()


class Shelving(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "oak"], on_delay="2s", min_missed=2)
        self.watcher.enrol("elm-main", "oak-main")
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["elm-main", "oak-main"], 0.5)
        self.loop.start()
        wait_until(lambda: self.tank("oak")["contact"] == "in_contact" and
                   self.tank("oak")["controllers"][0]["last_heard"], "oak to be heard")

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def tank(self, site):
        return next(s for s in self.watcher.status()["sites"] if s["id"] == site)["tanks"][0]

    def acts(self):
        return [row["decision"] for row in self.watcher.history()]

    def told(self):
        return len(self.catchers.mails) + len(self.catchers.hooks) + len(self.catchers.texts)

    def test_a_loss_under_a_shelf_is_told_when_it_ends(self):
        self.watcher.command("shelve", "oak-tank", "--until", seconds_from_now(20), "--reason",
                             "water change", "--by", "robin")
        tank = self.tank("oak")
        self.assertEqual(tank["alarm"], "shelved")
        self.assertEqual((tank["shelf"]["by"], tank["shelf"]["reason"]), ("robin", "water change"))
        text = self.watcher.command("status").stdout
        self.assertIn("by robin: water change", text)
        self.assertLessEqual(max(len(line) for line in text.splitlines()), 80)

        self.loop.silent.add("oak-main")
        wait_until(lambda: "loss" in self.acts(), "the loss to be decided")
        self.assertEqual(self.tank("oak")["contact"], "lost")
        self.assertEqual(self.told(), 0)
        self.watcher.kill()
        self.watcher.start()
        self.assertEqual(self.tank("oak")["alarm"], "shelved")
        self.assertEqual(self.told(), 0)

        wait_until(lambda: self.catchers.mails and self.catchers.hooks and self.catchers.texts,
                   "the end of the shelf to be told", 60)
        self.assertIn("was shelved until", self.catchers.mails[0].get_content())
        self.assertEqual(self.catchers.hooks[0][1]["type"], "ebbwatch.loss")
        self.assertEqual(self.tank("oak")["alarm"], "unacknowledged")
        acts = [a for a in self.acts() if a != "watch_gap"]
        self.assertEqual(acts[:2], ["shelved", "loss"])
        self.assertCountEqual(acts[2:], ["shelf_ended", "cause_revised"])  # At the same moment.
        self.loop.silent.clear()
        wait_until(lambda: len(self.catchers.mails) == 2, "the recovery to be told")

    def test_taken_off_by_a_person(self):
        self.watcher.command("shelve", "oak", "--for", "2h", "--reason", "moving it", "--by", "sam")
        self.loop.silent.add("oak-main")
        wait_until(lambda: "loss" in self.acts(), "the loss to be decided")
        self.assertEqual(self.told(), 0)
        self.watcher.command("unshelve", "oak")
        wait_until(lambda: self.catchers.mails, "the loss to be told")

    def test_out_of_service_stays_until_it_is_put_back(self):
        self.watcher.command("out-of-service", "oak-main", "--reason", "sold", "--by", "sam")
        self.loop.silent.add("oak-main")
        wait_until(lambda: "loss" in self.acts(), "the loss to be decided")
        self.loop.silent.clear()
        wait_until(lambda: "recovery" in self.acts(), "the recovery to be decided")
        self.assertEqual(self.told(), 0)
        self.assertEqual(self.tank("oak")["alarm"], "out_of_service")
        self.watcher.command("in-service", "oak-main", "--by", "sam")
        self.assertEqual(self.tank("oak")["alarm"], "normal")
        self.assertEqual(self.acts(), ["out_of_service", "loss", "recovery", "in_service"])

    def test_wrong_wishes_say_what_to_change(self):
        for arguments, status, remedy in (
                (("shelve", "oak", "--reason", "x", "--by", "y"), 2, "--for"),
                (("shelve", "oak", "--for", "31d", "--reason", "x", "--by", "y"), 1, "30d"),
                (("shelve", "oak", "--for", "2", "--reason", "x", "--by", "y"), 2, "unit"),
                (("shelve", "pine", "--for", "2h", "--reason", "x", "--by", "y"), 1, "pine"),
                (("unshelve", "oak"), 1, "not shelved")):
            done = self.watcher.command(*arguments, check=False)
            self.assertEqual(done.returncode, status, done.stderr)
            self.assertIn(remedy, done.stderr)

    def test_an_announced_stop_that_lasts_is_told_at_its_end(self):
        self.loop.silent.add("oak-main")
        self.assertEqual(self.watcher.check_in("oak-main", leaving=6), 204)
        self.assertEqual(self.tank("oak")["alarm"], "suppressed_by_design")
        begin = datetime.datetime.now()
        wait_until(lambda: self.catchers.mails, "the stop that lasts to be told")
        self.assertGreaterEqual((datetime.datetime.now() - begin).total_seconds(), 5)
        self.assertIn("announced a stop of 6 s", self.catchers.mails[0].get_content())


if __name__ == "__main__":
    unittest.main()
