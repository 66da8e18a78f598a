"""`advise`, wishes in `check-config` and `replay --set`, with the real binary, on a trace made here."""
import json
import os
import pathlib
import random
import subprocess
import tempfile
import unittest

EBBWATCH = pathlib.Path(os.environ["EBBWATCH_BIN_DIR"]) / "ebbwatch"
HEADER = "time_s,watcher,kind,subject,ok,seq,uptime_s,power\n"
SITE = """
watcher:
  name: harbour
  state_dir: state
  uplink_references: [{name: resolver, tcp: "192.0.2.53:53"}]
detection: %s
sites:
  - id: elm-street
    tanks: [{id: lagoon, controllers: [{id: lagoon-main, interval: 60s}]}]
"""
DELAYS = "{on_delay: 5min, off_delay: 3min}"
WISH = "{tell_within: 7min, false_alarms_at_most: 1 per year}"
DAY = 86400


def trace(days, silences):
    draw = random.Random(4)
    rows = [(0.0, "harbour,start,,,,,")]
    rows += [(float(t), "harbour,uplink,resolver,1,,,") for t in range(15, days * DAY, 30)]
    for n in range(1, days * 1440):
        t = n * 60 + draw.uniform(0, 2)
        if not any(a <= t < b for a, b in silences):
            rows.append((t, f"harbour,check-in,lagoon-main,,{n},{n * 60},mains"))
    return HEADER + "".join(f"{t:.2f},{rest}\n" for t, rest in sorted(rows))


class WhatIfTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.trace = self.folder / "heard.csv"
        self.trace.write_text(trace(10, [(2 * DAY, 2 * DAY + 480), (5 * DAY, 5 * DAY + 7200)]))

    def run_it(self, detection, *arguments, status=0):
        site = self.folder / "site.yaml"
        site.write_text(SITE % detection)
        done = subprocess.run([EBBWATCH, "--config", site, *arguments], capture_output=True, text=True)
        self.assertEqual(done.returncode, status, done.stderr)
        return done

    def test_a_longer_delay_would_not_have_told_the_short_silence(self):
        arguments = ["replay", "--trace", self.trace, "--set", "detection.on_delay=12min"]
        text = self.run_it(DELAYS, *arguments).stdout
        self.assertIn("Told 2, with these settings 1: 1 only then told", text)
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        found = json.loads(self.run_it(DELAYS, *arguments, "--json").stdout)
        self.assertEqual(found["totals"], {"told": 2, "these_settings": 1, "only_then_told": 1,
                                           "only_these_settings": 0})
        self.assertIsNone(found["losses"][0]["these_settings"])
        self.assertGreater(found["losses"][1]["these_settings"]["after_s"],
                           found["losses"][1]["told"]["after_s"])

    def test_a_setting_that_is_wrong_is_refused_in_the_words_of_the_file(self):
        done = self.run_it(DELAYS, "replay", "--trace", self.trace, "--set", "detection.on_delay=8", status=2)
        self.assertIn('detection.on_delay: "8"; allowed: a duration', done.stderr)

    def test_without_history_it_says_so_and_makes_nothing(self):
        done = self.run_it(DELAYS, "replay", "--set", "detection.on_delay=8min", status=1)
        self.assertIn("has not recorded anything yet", done.stderr)
        self.assertFalse((self.folder / "state").exists())
        self.run_it(DELAYS, "advise", status=1)
        self.assertFalse((self.folder / "state").exists())

    def test_advise_measures_advises_and_draws(self):
        svg = self.folder / "charts"
        text = self.run_it(DELAYS, "advise", "--trace", self.trace, "--svg", svg).stdout
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        self.assertIn("1 of 20 min or more, taken for outages", " ".join(text.split()))
        self.assertTrue((svg / "lagoon-main.svg").read_text().startswith("<svg "))
        found = json.loads(self.run_it(DELAYS, "advise", "--trace", self.trace, "--json").stdout)
        one = found["controllers"][0]
        self.assertEqual((one["outages"], one["silences_of_three"], one["lost"]), (1, 1, 0))
        self.assertTrue(one["enough_history"])

    def test_a_wish_that_cannot_be_had_is_said(self):
        text = " ".join(self.run_it(WISH, "advise", "--trace", self.trace).stdout.split())
        self.assertIn("the wish of 1 per year cannot be had", text)
        self.assertIn("would keep it", text)
        done = self.run_it(WISH, "check-config")
        self.assertIn("Wished detection comes to:", done.stdout)
        self.assertIn("nothing was measured yet", done.stdout)


if __name__ == "__main__":
    unittest.main()
