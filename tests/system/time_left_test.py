"""`ebbwatch time-left` with the real daemon: readings come in by check-in, a refusal says what is
missing, and a controller on battery makes the power cut known."""
import json
import unittest

from harness import Catchers, Watcher, wait_until

FACTS = ("volume_l: 300, length_cm: 120, width_cm: 50, cover: open, livestock: reef, "
         "stock: medium, room_temperature_c: 19")


class TimeLeft(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "oak"], interval="60s", on_delay="5min")
        text = self.watcher.config.read_text()
        self.watcher.config.write_text(text.replace("id: elm-tank,", f"id: elm-tank, {FACTS},"))
        self.watcher.enrol("elm-main", "oak-main")
        self.watcher.start()

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def asked(self, tank="elm-tank"):
        return json.loads(self.watcher.command("time-left", tank, "--json").stdout)

    def test_clocks_follow_the_readings(self):
        # No water temperature yet: refused, with the remedy.
        self.assertIn("report temperature_c", self.asked()["oxygen"]["refusal"])
        self.assertIn("volume_l", self.asked("oak-tank")["temperature"]["refusal"])

        self.watcher.check_in("elm-main", power="mains", readings={"temperature_c": 25.5})
        self.watcher.terminate()  # Stores what it heard; the command needs no daemon.
        on = self.asked()
        self.assertEqual(on["power"], "on")
        self.assertEqual(on["oxygen"]["limit"], "oxygen below 4 mg/L")
        self.assertTrue(0 < on["oxygen"]["low_h"] < on["oxygen"]["middle_h"] < on["oxygen"]["high_h"])
        self.assertEqual(on["temperature"]["limit"], "below 24 °C")
        self.assertIn("Water at 25.5 °C, the last reading.", on["assumptions"])

        self.watcher.start()
        self.watcher.check_in("elm-main", power="battery", readings={"temperature_c": 24.5})
        self.watcher.terminate()
        out = self.asked()
        self.assertEqual(out["power"], "out")
        self.assertLess(out["temperature"]["low_h"], on["temperature"]["low_h"])

        text = self.watcher.command("time-left", "elm-tank").stdout
        self.assertIn("The power is out since ", text)
        self.assertIn("act now", text)
        self.assertTrue(all(len(line) <= 80 for line in text.splitlines()), text)

    def test_the_notice_of_a_loss_tells_it(self):
        text = self.watcher.config.read_text().replace("interval: 60s", "interval: 1s")
        self.watcher.config.write_text(text.replace("on_delay: 5min", "on_delay: 1s"))
        self.watcher.terminate()
        self.watcher.start()
        for seq in range(2):
            self.watcher.check_in("elm-main", seq=seq, readings={"temperature_c": 25.5})
        mail = wait_until(lambda: list(self.catchers.mails), "the mail")[0]
        body = mail.get_content()
        self.assertRegex(body, r"If the power is out since \d\d:\d\d \(an estimate")
        self.assertRegex(" ".join(body.split()), r"oxygen below 4 mg/L in .* hours; below 24 °C in ")

    def test_unknown_tank_is_refused(self):
        refused = self.watcher.command("time-left", "pond", check=False)
        self.assertEqual(refused.returncode, 1)
        self.assertIn("pond", refused.stderr)


if __name__ == "__main__":
    unittest.main()
