"""kill -9 at varied moments, many times, under load, with servers that now and then refuse. Afterwards
the counterparts' books against the store: nothing lost, nothing told that was not stored, one sent
twice carries the same identifier, and nothing told because of the daemon's own absence.

ROUNDS (default 50) and SEED choose how much and which moments; the seed is printed."""
import collections
import os
import random
import re
import sqlite3
import time
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until

ROUNDS = int(os.environ.get("ROUNDS", "50"))
SEED = int(os.environ.get("SEED", "20261125"))


class Crash(unittest.TestCase):
    def setUp(self):
        self.random = random.Random(SEED)
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["calm", "wave", "tide"], interval="1s",
                               on_delay="1s", off_delay="1s", min_missed=1)
        self.watcher.enrol("calm-main", "wave-main", "tide-main")
        self.loop = CheckInLoop(self.watcher, ["calm-main", "wave-main", "tide-main"], 0.2)

    def tearDown(self):
        self.loop.stop()
        self.watcher.remove()
        self.catchers.stop()

    def one_round(self, number):
        """Ends with a kill: at any moment, or just after a decision was logged."""
        self.watcher.start()
        for controller in ("wave-main", "tide-main"):
            change = self.random.random()
            if change < 0.4:
                self.loop.silent.add(controller)
            elif change < 0.8:
                self.loop.silent.discard(controller)
        self.catchers.smtp_answer = self.random.choice(["250 Kept", "250 Kept", "451 Try later"])
        self.catchers.http_status = self.random.choice([204, 204, 503])
        if number % 2:
            time.sleep(self.random.uniform(0.0, 3.0))
        else:
            seen = self.watcher.log_text().count("[decided]")
            end = time.monotonic() + 4.0
            while time.monotonic() < end and self.watcher.log_text().count("[decided]") == seen:
                time.sleep(0.001)
            time.sleep(self.random.uniform(0.0, 0.05))
        self.watcher.kill()

    def arrived(self):
        """How often each notice arrived, by way."""
        mails = (re.match(r"<([0-9a-f-]+)@", mail["Message-ID"]).group(1) for mail in self.catchers.mails)
        return {"mail": collections.Counter(mails),
                "hook": collections.Counter(event["id"] for _, event in self.catchers.hooks),
                "text": collections.Counter(text["id"] for text in self.catchers.texts)}

    def test_nothing_is_lost_and_nothing_is_invented(self):
        print(f"rerun: SEED={SEED} ROUNDS={ROUNDS}", flush=True)
        self.loop.start()
        for number in range(ROUNDS):
            self.one_round(number)
        # Everything heals; then the outbox must empty.
        self.loop.silent.clear()
        self.catchers.smtp_answer, self.catchers.http_status = "250 Kept", 204
        self.watcher.start()
        self.wait_for_the_outbox()
        self.assertEqual(self.watcher.terminate(), 0)
        self.check_books()

    def rows(self, question):
        with sqlite3.connect(self.watcher.folder / "state" / "ebbwatch.sqlite3") as database:
            return database.execute(question).fetchall()

    def wait_for_the_outbox(self):
        def settled():
            status = self.watcher.status()
            calm = all(site["contact"] == "in_contact" for site in status["sites"])
            return calm and not self.rows("SELECT 1 FROM notices WHERE state = 'waiting'")
        wait_until(settled, "all sites in contact and the outbox empty", 180)

    def check_books(self):
        arrived = self.arrived()
        notices = self.rows("SELECT notice, notifier, state, kind, outage FROM notices")
        known = {notice: (notifier, state) for notice, notifier, state, _, _ in notices}
        for way, counts in arrived.items():
            for notice in counts:
                self.assertIn(notice, known, f"{way} told what was never stored")
                self.assertEqual(known[notice][0], way)
        for notice, (way, state) in known.items():
            self.assertIn(state, ("delivered", "withdrawn"))
            if state == "delivered":
                self.assertGreaterEqual(arrived[way][notice], 1, f"{notice} is said to be delivered")
        decisions = self.watcher.history()
        kinds = collections.Counter(d["decision"] for d in decisions)
        losses = [d for d in decisions if d["decision"] == "loss"]
        self.assertEqual({d["subject"] for d in losses} - {"wave", "tide", "wave-tank", "tide-tank"}, set(),
                         "a site that always checked in was told lost")
        self.assertGreaterEqual(len(losses), ROUNDS // 10, "too few losses to prove anything")
        self.check_each_loss(losses, decisions, notices)
        twice = sum(count - 1 for counts in arrived.values() for count in counts.values())
        print(f"{ROUNDS} kills: decisions {dict(kinds)}, notices {len(known)}, "
              f"arrived {sum(len(c) for c in arrived.values())}, sent again with the same identifier {twice}")

    def check_each_loss(self, losses, decisions, notices):
        outages = collections.Counter(d["outage"] for d in losses)
        self.assertEqual(set(outages.values()), {1}, "one outage was told as two losses")
        ended = collections.Counter(d["outage"] for d in decisions if d["decision"] == "recovery")
        self.assertEqual(set(ended), set(outages), "after healing every loss has its recovery")
        self.assertEqual(set(ended.values()), {1})
        ways = collections.defaultdict(set)
        for _, notifier, _, _, outage in notices:
            ways[f"pier-{outage}"].add(notifier)
        for loss in losses:
            self.assertEqual(ways[loss["outage"]], {"mail", "hook", "text"}, loss)


if __name__ == "__main__":
    unittest.main()
