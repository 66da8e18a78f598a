"""Long histories of the real daemon: what is old becomes hours while check-ins go on, nothing is lost in
the sums, and all of it leaves as CSV (read with Python's csv, RFC 4180) and JSON."""
import csv
import io
import json
import os
import pathlib
import shutil
import sqlite3
import subprocess
import tempfile
import time
import unittest

from board_test import Visitor
from harness import BIN, Catchers, CheckInLoop, Watcher, free_port, wait_until

SOURCE = pathlib.Path(os.environ.get("EBBWATCH_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))


def stamp(seconds):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(seconds))


class Condensing(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.port = free_port()
        self.watcher = Watcher(self.catchers, ["elm", "ash"], interval="1s",
                               more='  board: {address: "127.0.0.1", port: %d}' % self.port)
        self.watcher.enrol("elm-main", "ash-main")

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def fill(self, days):
        """Check-ins every 10 min of so many days back, as the daemon writes them."""
        self.watcher.start()
        self.watcher.check_in("elm-main", seq=1)
        self.watcher.terminate()
        database = sqlite3.connect(self.watcher.folder / "state" / "ebbwatch.sqlite3")
        number = database.execute("SELECT id FROM names WHERE name = 'elm-main'").fetchone()[0]
        now = int(time.time())
        with database:
            for back in range(600, days * 86400, 600):
                database.execute("INSERT INTO check_ins VALUES(?, ?, ?, NULL, ?, ?)",
                                 ((now - back) * 1_000_000 * 1024, number, back, 2 if back % 7 == 0 else 1,
                                  json.dumps({"temperature_c": 20 + back % 11, "watts": {"heater": back % 200}})))
        database.close()

    def sums(self):
        rows = list(csv.DictReader(io.StringIO(
            self.watcher.command("history", "--as", "check-ins", "--subject", "elm-main", "--csv").stdout)))
        total = {"heard": sum(int(row["heard"]) for row in rows), "battery": sum(int(row["on_battery"]) for row in rows),
                 "readings": 0, "temperature": 0.0, "hours": sum(row["resolution"] == "hour" for row in rows)}
        for row in rows:
            if not row["readings"]:
                continue
            readings = json.loads(row["readings"])
            if row["resolution"] == "hour":
                count, _, mean, _ = readings["temperature_c"]
                self.assertEqual(readings["watts.heater"][0], count)
                total["readings"] += count
                total["temperature"] += count * mean
            else:
                total["readings"] += 1
                total["temperature"] += readings["temperature_c"]
        return total

    def test_old_check_ins_become_hours_while_new_ones_come(self):
        self.fill(100)
        before = self.sums()
        self.assertEqual(before["hours"], 0)
        self.watcher.start()
        loop = CheckInLoop(self.watcher, ["ash-main"], 0.25)
        loop.start()
        try:
            cut = time.time() - 90 * 86400

            def oldest():
                line = self.watcher.command("history", "--as", "check-ins", "--json").stdout.splitlines()
                first = next((json.loads(one) for one in line if '"check_in"' in one), None)
                return first is not None and first["at"] >= stamp(cut - 3600)
            wait_until(oldest, "old check-ins to become hours")
        finally:
            loop.stop()
        after = self.sums()
        self.assertGreater(after["hours"], 200)
        self.assertAlmostEqual(after.pop("temperature"), before.pop("temperature"), delta=0.5)
        del before["hours"], after["hours"]
        self.assertEqual(after, before)
        # The strip of that time is drawn from the hours.
        chart = self.watcher.command("history", "--subject", "elm-tank", "--chart", "--from",
                                     stamp(time.time() - 98 * 86400), "--until", stamp(time.time() - 92 * 86400)).stdout
        self.assertIn("Water, °C", chart)
        self.assertIn("heater, W", chart)

    def test_csv_is_quoted_and_no_formula(self):
        self.watcher.start()
        self.watcher.command("shelve", "tank/elm-tank", "--for", "2h", "--reason", '=1+1, "pump"', "--by", "robin")
        text = self.watcher.command("history", "--csv").stdout
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
        self.assertEqual(rows[0]["text"], "'=1+1, \"pump\"")
        self.assertEqual(rows[0]["decision"], "shelved")
        self.assertRegex(rows[0]["at"], r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$")
        both = self.watcher.command("history", "--csv", "--json", check=False)
        self.assertEqual(both.returncode, 2)
        # The same from the board, with its filters.
        password = "four words to look in"
        subprocess.run([BIN / "ebbwatch", "--config", self.watcher.config, "board-password", "viewer"], check=True,
                       input=password + "\n", text=True, capture_output=True)
        visitor = Visitor(self.port)
        self.assertEqual(visitor.enter("viewer", password).status, 303)
        answer = visitor.ask("GET", "/history.csv?kind=acts&subject=elm-tank")
        self.assertEqual(answer.status, 200)
        self.assertTrue(answer.headers["Content-Type"].startswith("text/csv"))
        self.assertEqual(list(csv.DictReader(io.StringIO(answer.text, newline=""))), rows)
        self.assertEqual(len(visitor.ask("GET", "/history.csv?kind=gaps").text.splitlines()), 1)
        found = json.loads(visitor.ask("GET", "/history.json?words=pump").text)
        self.assertEqual(found[0]["reason"], '=1+1, "pump"')
        self.assertEqual(json.loads(visitor.ask("GET", "/history.json?words=nowhere").text), [])
        self.assertIn("/history.csv", visitor.ask("GET", "/history").text)
        self.assertEqual(Visitor(self.port).ask("GET", "/history.csv").status, 303)


class InventedHistory(unittest.TestCase):
    def test_a_small_year_is_made_and_measured(self):
        folder = pathlib.Path(tempfile.mkdtemp(prefix="ebbwatch-test-"))
        try:
            made = folder / "made"
            said = subprocess.run([BIN / "ebbwatch-make-history", made, "--until", "2026-11-01T00:00:00Z", "--days", "130",
                                   "--controllers", "6", "--interval", "600", "--keep", "60"],
                                  check=True, capture_output=True, text=True).stdout
            total = int(said.split()[0])
            config = (made / "ebbwatch.yaml").read_text()
            (made / "ebbwatch.yaml").write_text(config.replace("8471", str(free_port())))
            database = sqlite3.connect(made / "state" / "ebbwatch.sqlite3")
            raw = database.execute("SELECT count(*) FROM check_ins").fetchone()[0]
            hours, heard = database.execute("SELECT count(*), sum(heard) FROM hours").fetchone()
            losses = database.execute("SELECT count(*) FROM decisions WHERE kind = 'loss'").fetchone()[0]
            database.close()
            self.assertEqual(raw + heard, total)
            self.assertGreater(hours, 70 * 24 * 5)
            self.assertGreater(losses, 5)
            measured = subprocess.run([SOURCE / "tools" / "make-history" / "measure", made, BIN], check=True,
                                      capture_output=True, text=True).stdout
            for words in ("bytes a check-in", "strip of one tank, oldest month", "report of 2026-09", "board: the panel"):
                self.assertIn(words, measured)
        finally:
            shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    unittest.main()
