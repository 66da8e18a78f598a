"""Exercises, with the real daemon: through the core, the store and every way to the person, answered
by the link in the mail; they survive a kill -9 and never stand in the way of a real loss."""
import json
import re
import unittest
import urllib.request

from harness import Catchers, CheckInLoop, Watcher, wait_until


class Drills(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "oak"])
        self.watcher.enrol("elm-main", "oak-main")
        text = self.watcher.config.read_text()
        text = text.replace("listen:\n", f'listen:\n  public_url: "http://127.0.0.1:{self.watcher.port}"\n')
        text = text.replace("  - id: everyday\n", "  - id: everyday\n    prove_every: 45d\n")
        self.watcher.config.write_text(text)
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["elm-main", "oak-main"], 0.5)
        self.loop.start()
        wait_until(lambda: all(s["tanks"][0]["controllers"][0]["last_heard"]
                               for s in self.watcher.status()["sites"]), "both to be heard")

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def ways(self):
        return {way["notifier"]: way for way in self.watcher.status()["ways"]}

    def drill_mails(self):
        return [m for m in self.catchers.mails if m["Subject"].startswith("DRILL: ")]

    def link(self):
        return re.search(r"http://\S+/v1/answer/\S+", self.drill_mails()[-1].get_content()).group()

    def test_a_drill_reaches_the_person_and_is_answered(self):
        self.assertTrue(all(way["overdue"] for way in self.ways().values()))
        done = json.loads(self.watcher.command("drill", "--site", "elm", "--by", "robin", "--json").stdout)
        self.assertEqual(done["told"], ["robin"])
        wait_until(lambda: self.drill_mails() and self.catchers.hooks and self.catchers.texts,
                   "the drill by every way")
        self.assertTrue(self.catchers.texts[0]["text"].startswith("DRILL, all is well."))
        self.assertEqual(self.catchers.hooks[0][1]["type"], "ebbwatch.drill")
        self.assertIn("This is a DRILL", self.drill_mails()[0].get_content())
        wait_until(lambda: self.ways()["hook"]["proven_at"] and self.ways()["text"]["proven_at"],
                   "the ways without an answer to be proven by delivery")
        self.assertIsNone(self.ways()["mail"]["proven_at"])

        self.watcher.kill()
        self.watcher.start()
        link = self.link()
        page = urllib.request.urlopen(link).read().decode()
        self.assertIn("EXERCISE", page)
        self.assertIsNone(self.ways()["mail"]["answered_at"])
        urllib.request.urlopen(urllib.request.Request(link, data=b"", method="POST")).read()
        self.assertTrue(self.ways()["mail"]["proven_at"])
        self.assertFalse(any(way["overdue"] for way in self.ways().values()))
        self.assertEqual(self.watcher.status()["drill"]["state"], "over")
        acts = [row["decision"] for row in self.watcher.history()]
        self.assertEqual([a for a in acts if a.startswith("drill")], ["drill", "drill_answered"])
        shown = self.watcher.command("status").stdout
        self.assertIn("Ways to people", shown)
        self.assertLessEqual(max(len(line) for line in shown.splitlines()), 80)

    def test_a_real_loss_during_a_drill_is_told_as_always(self):
        self.watcher.command("drill", "--site", "elm")
        self.loop.silent.add("oak-main")
        wait_until(lambda: any(h["type"] == "ebbwatch.loss" for _, h in self.catchers.hooks),
                   "the real loss")
        def real(mails):
            return next((m for m in mails if "no contact" in m["Subject"] and
                         not m["Subject"].startswith("DRILL")), None)

        loss = wait_until(lambda: real(self.catchers.mails), "the mail of the real loss")
        self.assertIn("Site oak", loss["Subject"])
        refused = self.watcher.command("drill", "--site", "elm", check=False)
        self.assertEqual(refused.returncode, 1)
        self.assertIn("is running", refused.stderr)
        number = self.watcher.status()["outages"][0]["outage"]
        self.watcher.command("acknowledge", number, "--by", "robin")
        self.assertEqual(self.watcher.status()["outages"][0]["alarm"], "acknowledged")


if __name__ == "__main__":
    unittest.main()
