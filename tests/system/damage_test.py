"""The record outlives damage and machines: backup while the daemon works, restore, and a start on a
database that was damaged in every way that disks and cards know. Python's sqlite3 is the second
program that looks at the files."""
import json
import os
import random
import sqlite3
import stat
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until

COUNT = 4000


def sound(path):
    database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        return database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    finally:
        database.close()


class Damage(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "ash"], interval="1s")
        self.watcher.enrol("elm-main", "ash-main")
        self.state = self.watcher.folder / "state"
        self.path = self.state / "ebbwatch.sqlite3"

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def aside(self, word="damaged"):
        return sorted(f for f in self.state.glob(f"ebbwatch.sqlite3.{word}-*")
                      if f.suffix != ".txt" and not f.name.endswith(("-wal", "-shm")))

    def grow(self):
        """Some hundred pages of history, as the daemon itself would have written them."""
        self.watcher.start()
        self.assertEqual(self.watcher.check_in("elm-main", seq=1), 204)
        self.watcher.terminate()
        database = sqlite3.connect(self.path)
        newest, number = database.execute("SELECT max(id), min(controller) FROM check_ins").fetchone()
        with database:
            database.executemany("INSERT INTO check_ins VALUES(?, ?, ?, ?, 1, ?)",
                                 [(newest - (i + 1) * 60_000_000 * 1024, number, i, i * 60.0, '{"temperature_c": 25.1}')
                                  for i in range(COUNT)])
            database.executemany(
                "INSERT INTO decisions(at, kind, scope, subject, outage, json) VALUES(?, 'note', 'tank', 'elm-tank', 1, ?)",
                [((newest >> 10) - i, json.dumps({"by": "robin", "text": f"note {i}"})) for i in range(300)])
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        database.close()

    def expect_watching(self, words):
        self.watcher.start()
        self.assertEqual(self.watcher.check_in("elm-main", seq=9), 204, "a key that was enrolled still counts")
        self.assertEqual(len(self.aside()), 1)
        said = self.watcher.status()["databases_put_aside"][0]
        self.assertIn(str(self.aside()[0]), said)
        self.assertIn("ebbwatch restore", said)
        self.assertIn("was damaged", self.watcher.command("status").stdout)
        self.assertIn("database_damaged", self.watcher.log_text())
        self.assertIn(words, self.watcher.log_text())
        self.watcher.terminate()
        self.assertTrue(sound(self.path))
        # The line stays until somebody has taken the file away.
        self.watcher.start()
        self.assertIn("databases_put_aside", self.watcher.status())
        self.assertEqual(len(self.aside()), 1)
        self.watcher.terminate()
        for file in self.state.glob("ebbwatch.sqlite3.damaged-*"):
            file.unlink()
        self.watcher.start()
        self.assertNotIn("databases_put_aside", self.watcher.status())
        self.watcher.terminate()

    def test_pages_overwritten_at_several_places(self):
        self.grow()
        content = bytearray(self.path.read_bytes())
        pages = len(content) // 4096
        chance = random.Random(7)
        # Not the first pages: those of the keys are there, and they get their own test.
        for page in chance.sample(range(30, pages), 6):
            content[page * 4096:(page + 1) * 4096] = chance.randbytes(4096)
        self.path.write_bytes(content)
        self.expect_watching("Taken over: ")
        database = sqlite3.connect(self.path)
        left = database.execute("SELECT count(*) FROM check_ins").fetchone()[0]
        notes = database.execute("SELECT count(*) FROM decisions WHERE kind = 'note'").fetchone()[0]
        database.close()
        self.assertGreater(left, COUNT / 2)
        self.assertGreater(notes, 100)

    def test_half_of_the_file_is_gone(self):
        self.grow()
        os.truncate(self.path, self.path.stat().st_size // 2 // 4096 * 4096 + 100)
        self.expect_watching("Taken over: ")

    def test_nothing_is_left_in_the_file(self):
        self.grow()
        os.truncate(self.path, 0)
        self.expect_watching("the file is empty")

    def test_its_beginning_is_garbage(self):
        self.grow()
        with open(self.path, "r+b") as file:
            file.write(random.Random(1).randbytes(4096))
        self.expect_watching("its beginning is not that of a database")

    def test_backup_while_the_daemon_works_and_back(self):
        self.watcher.start()
        loop = CheckInLoop(self.watcher, ["elm-main", "ash-main"], 0.25)
        loop.start()
        try:
            wait_until(lambda: loop.seq > 3, "check-ins")
            files = [self.watcher.folder / f"backup-{i}" for i in range(5)]
            for file in files:
                said = self.watcher.command("backup", str(file)).stdout
                self.assertIn("2 controllers' keys", said)
                self.assertIn(f"in {file.stat().st_size} bytes", said)
                self.assertEqual(stat.S_IMODE(file.stat().st_mode), 0o600)
                self.assertTrue(sound(file))
            before = files[0].read_bytes()
            refused = self.watcher.command("backup", str(files[0]), check=False)
            self.assertEqual(refused.returncode, 1)
            self.assertIn("left as it is", refused.stderr)
            self.assertEqual(files[0].read_bytes(), before)
            refused = self.watcher.command("restore", str(files[-1]), check=False)
            self.assertEqual(refused.returncode, 1)
            self.assertIn("Stop it first", refused.stderr)
        finally:
            loop.stop()
        # One row of each check-in that was answered: none is lost because somebody copies.
        self.watcher.terminate()
        database = sqlite3.connect(self.path)
        seqs = [row[0] for row in database.execute(
            "SELECT seq FROM check_ins c JOIN names n ON n.id = c.controller WHERE name = 'elm-main' ORDER BY c.id")]
        database.close()
        self.assertEqual(seqs, list(range(1, loop.seq + 1)))
        self.watcher.enrol("elm-main")  # Not in the backup.
        said = self.watcher.command("restore", str(files[-1])).stdout
        self.assertIn("put aside as", said)
        self.assertEqual(len(self.aside("replaced")), 1)
        self.assertTrue(sound(self.aside("replaced")[0]))
        self.watcher.start()
        self.assertEqual(self.watcher.check_in("elm-main"), 401, "keys are those of the backup")
        self.assertEqual(self.watcher.check_in("ash-main"), 204)

    def test_export_has_what_people_entered(self):
        self.watcher.start()
        self.watcher.command("shelve", "tank/elm-tank", "--for", "2h", "--reason", 'a "new" pump', "--by", "robin")
        entries = json.loads(self.watcher.command("export").stdout)
        self.assertEqual([one["controller"] for one in entries["controllers"]], ["ash-main", "elm-main"])
        self.assertEqual(entries["put_away"][0]["reason"], 'a "new" pump')
        self.assertEqual(entries["record"][0]["kind"], "shelved")
        file = self.watcher.folder / "entries.json"
        self.watcher.command("export", str(file))
        self.assertEqual(json.loads(file.read_text())["put_away"], entries["put_away"])
        self.assertEqual(self.watcher.command("export", str(file), check=False).returncode, 1)


if __name__ == "__main__":
    unittest.main()
