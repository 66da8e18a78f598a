"""Limits of readings with the real daemon: told like a loss, taken on, over, across a kill -9, under
a shelf; a reading that is not reported; nothing of it while all is well."""
import json
import time
import unittest

from harness import Catchers, Watcher, wait_until

READINGS = """  - id: elm
    name: Elm Street
    call_list: everyday
    tanks:
      - id: elm-tank
        name: Lagoon reef
        controllers:
          - id: elm-main
            interval: 1s
            readings:
              temperature_c: {low: 23, high: 28, deadband: 0.3, on_delay: 1s, off_delay: 1s}
              watts.return-pump: {high: 80, on_delay: 1s, off_delay: 1s, missing_for: 2s}
"""


class Readings(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, [], on_delay="60s")
        self.watcher.values["sites"] = READINGS
        from harness import SETTINGS
        self.watcher.config.write_text(SETTINGS.format(**self.watcher.values))
        self.watcher.enrol("elm-main")
        self.watcher.start()
        self.water, self.pump = 25.4, 52

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def tank(self):
        return self.watcher.status()["sites"][0]["tanks"][0]

    def reading(self, name):
        return next(one for one in self.tank()["readings"] if one["reading"] == name)

    def told(self, name="temperature_c"):
        """Checks in once, and gives how the reading stands."""
        readings = {"temperature_c": self.water}
        if self.pump is not None:
            readings["watts"] = {"return-pump": self.pump}
        self.assertEqual(self.watcher.check_in("elm-main", readings=readings), 204)
        time.sleep(0.2)  # Check-ins have a least spacing.
        return self.reading(name)

    def wait_for(self, state, name="temperature_c"):
        return wait_until(lambda: (lambda one: one if one["state"] == state else None)(
            self.told(name)), f"{name} to be {state}")

    def notices(self):
        return [hook["type"] for _, hook in self.catchers.hooks]

    def test_a_limit_is_told_taken_on_and_over(self):
        for _ in range(8):
            self.assertEqual(self.told()["state"], "normal")
        self.assertEqual(self.notices(), [])
        self.water = 28.6
        high = self.wait_for("high")
        self.assertEqual(high["alarm"], "unacknowledged")
        wait_until(lambda: self.catchers.mails and self.catchers.texts and self.catchers.hooks,
                   "mail, text and hook")
        self.assertEqual(self.notices(), ["ebbwatch.reading_alarm"])
        data = self.catchers.hooks[0][1]["data"]
        self.assertEqual((data["decision"], data["reading"], data["state"], data["value"],
                          data["bound"], data["subject"]),
                         ("reading_alarm", "temperature_c", "high", 28.6, 28, "elm-tank"))
        self.assertIn("water 28.6 °C, limit 28 °C", self.catchers.mails[0]["Subject"])
        text = self.watcher.command("status").stdout
        self.assertIn("READING water 28.6 °C, above its limit of 28 °C", text)
        self.assertLessEqual(max(len(line) for line in text.splitlines()), 80)

        self.watcher.kill()
        self.watcher.start()
        self.assertEqual(self.reading("temperature_c")["outage"], high["outage"])
        self.watcher.command("acknowledge", high["outage"], "--by", "robin")
        self.assertEqual(self.reading("temperature_c")["alarm"], "acknowledged")
        self.watcher.kill()
        self.watcher.start()
        self.assertEqual(self.reading("temperature_c")["alarm"], "acknowledged")

        self.water = 27.8  # Inside the deadband.
        end = time.monotonic() + 2
        while time.monotonic() < end:
            self.assertEqual(self.told()["state"], "high")
        self.water = 27.0
        self.wait_for("normal")
        wait_until(lambda: "ebbwatch.reading_normal" in self.notices(), "the end to be told")
        self.assertEqual(self.notices().count("ebbwatch.reading_alarm"), 1)
        kinds = [row["decision"] for row in self.watcher.history() if "reading" in row]
        self.assertEqual(kinds, ["reading_alarm", "reading_normal"])
        self.assertNotIn("loss", [row["decision"] for row in self.watcher.history()])

    def test_under_a_shelf_it_is_recorded_only_and_told_when_the_shelf_ends(self):
        self.watcher.command("shelve", "elm-tank", "--for", "1h", "--reason", "water change",
                             "--by", "robin")
        self.water = 21
        self.assertEqual(self.wait_for("low")["alarm"], "shelved")
        time.sleep(1)
        self.assertEqual(self.notices(), [])
        self.watcher.command("unshelve", "elm-tank", "--by", "robin")
        wait_until(lambda: self.notices() == ["ebbwatch.reading_alarm"], "it to be told")
        self.assertEqual(self.reading("temperature_c")["alarm"], "unacknowledged")

    def test_a_reading_that_is_not_reported_is_missing_and_wakes_nobody(self):
        self.told()
        self.pump = None
        missing = self.wait_for("missing", "watts.return-pump")
        self.assertEqual(missing["value"], 52)
        time.sleep(1)
        self.assertEqual(self.notices(), [])
        self.assertIn("no value of watts.return-pump", self.watcher.command("status").stdout)

    def test_limits_that_are_taken_out_end_their_alarm(self):
        self.water = 30
        self.wait_for("high")
        wait_until(lambda: self.notices() == ["ebbwatch.reading_alarm"], "it to be told")
        text = self.watcher.config.read_text()
        self.watcher.config.write_text(
            "".join(line + "\n" for line in text.splitlines() if "temperature_c:" not in line))
        self.watcher.process.send_signal(1)
        wait_until(lambda: "ebbwatch.reading_normal" in self.notices(), "its end to be told")
        self.assertEqual([one["reading"] for one in self.tank()["readings"]],
                         ["watts.return-pump"])


if __name__ == "__main__":
    unittest.main()
