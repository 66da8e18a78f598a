"""`ebbwatch report` over an invented month whose rows this program writes into the journal itself and
from which it works out every figure a second time, second by second and by other means."""
import datetime
import json
import os
import random
import sqlite3
import subprocess
import unittest

from harness import BIN, Catchers, Watcher

SEED = int(os.environ.get("SEED", "20261101"))
UTC = datetime.timezone.utc
BEGIN = datetime.datetime(2026, 10, 1, tzinfo=UTC)
END = datetime.datetime(2026, 11, 1, tzinfo=UTC)
SECONDS = int((END - BEGIN).total_seconds())
SITES = ["elm", "oak", "quay"]


def micro(second):
    return int(BEGIN.timestamp() * 1e6) + second * 1_000_000


class Month:
    """Random outages, gaps and notices; `rows` go into the database."""

    def __init__(self, seed):
        self.random = random.Random(seed)
        self.outages, self.gaps, self.notices, self.answers = [], [], [], {}
        self.first = {site: self.random.choice([0, 0, self.random.randrange(SECONDS // 2)]) for site in SITES}
        for _ in range(4):
            begin = self.random.randrange(SECONDS)
            self.gaps.append((begin, begin + self.random.randrange(60, 40_000)))
        for number in range(1, 26):
            begin = self.random.randrange(-50_000, SECONDS)
            told = begin + self.random.randrange(60, 900)
            back = told + self.random.choice([100, 4000, 200_000]) + self.random.randrange(60)
            if number == 25:
                begin, told, back = SECONDS - 9000, SECONDS - 8700, None
            if back and back > SECONDS:
                back = None
            scope, subject = self.random.choice(
                [("tank", f"{s}-tank") for s in SITES] + [("site", s) for s in SITES]
                + [("controller", "elm-main"), ("area", "north")])
            self.outages.append((number, scope, subject, begin, told, back))
            for _ in range(self.random.randrange(4)):
                self.notices.append((number, told + self.random.randrange(900)))
            if self.random.random() < 0.6:
                self.answers[number] = told + self.random.randrange(3000)

    def write(self, path):
        base = sqlite3.connect(path)
        ids = {}
        for site in SITES:
            ids[site] = base.execute("INSERT INTO names(name) VALUES(?)", (f"{site}-main",)).lastrowid
            base.execute("INSERT INTO check_ins VALUES(?, ?, NULL, NULL, 1, NULL)",
                         ((micro(self.first[site]) << 10) + ids[site], ids[site]))
        rows = []
        for number, scope, subject, begin, told, back in self.outages:
            rows.append((told, "loss", scope, subject, number, begin))
            if back is not None:
                rows.append((back + 180, "recovery", scope, subject, number, back))
        for begin, end in self.gaps:
            rows.append((end, "watch_gap", "watcher", "pier", 0, begin))
        for at, kind, scope, subject, number, since in sorted(rows):
            text = json.dumps({"since_s": micro(since) / 1e6, "cause": "internet", "confidence": 0.6})
            base.execute("INSERT INTO decisions(at, kind, scope, subject, outage, json) VALUES(?,?,?,?,?,?)",
                         (micro(at), kind, scope, subject, number, text))
        for index, (number, at) in enumerate(self.notices):
            base.execute("INSERT INTO notices VALUES(?,?,?,?,?,?,?,?,?,?,?,?)",
                         (f"n{index}", number, "loss", "robin", "mail", "delivered", 1, micro(at), micro(at),
                          micro(at + 2), "", "{}"))
        for number, at in self.answers.items():
            base.execute("INSERT INTO calls(outage, call_list, next_step, repeats, started_at, acknowledged, "
                         "acknowledged_by, closed, acknowledged_at) VALUES(?, 'everyday', 1, 0, 0, 1, 'robin', 1, ?)",
                         (number, micro(at)))
        base.commit()
        base.close()


def journal(path):
    """What a second program reads back, from the raw rows alone."""
    base = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    base.row_factory = sqlite3.Row
    return ([dict(row) for row in base.execute("SELECT * FROM decisions ORDER BY at, number")],
            [dict(row) for row in base.execute("SELECT * FROM notices")],
            [dict(row) for row in base.execute("SELECT * FROM calls")],
            {name: (first >> 10) for name, first in base.execute(
                "SELECT n.name, min(h.id) FROM check_ins h JOIN names n ON n.id = h.controller GROUP BY n.name")})


def recount(path):
    """Every second of the month for every tank: 0 in contact, 1 lost; and whether anybody watched."""
    decisions, notices, calls, first_heard = journal(path)
    second = lambda us: (us - micro(0)) // 1_000_000
    clip = lambda s: max(0, min(SECONDS, s))
    watched = bytearray(b"\1") * SECONDS
    losses, back, told, since = {}, {}, {}, {}
    for row in decisions:
        begin = int(round(json.loads(row["json"])["since_s"] - BEGIN.timestamp()))
        if row["kind"] == "watch_gap":
            a, b = clip(begin), clip(second(row["at"]))
            watched[a:b] = bytes(b - a)
        elif row["kind"] == "loss":
            losses[row["outage"]], told[row["outage"]], since[row["outage"]] = row, second(row["at"]), begin
        elif row["kind"] == "recovery" and row["at"] < micro(SECONDS):
            back[row["outage"]] = begin
    tanks = {}
    for site in SITES:
        lost = bytearray(SECONDS)
        for number, row in losses.items():
            if row["subject"] in (site, f"{site}-tank") or (row["scope"] == "area" and site != "quay"):
                a, b = clip(since[number]), clip(back.get(number, SECONDS))
                lost[a:b] = b"\1" * (b - a)
        start = clip(second(first_heard[f"{site}-main"]))
        seen = [(lost[s], watched[s]) for s in range(start, SECONDS)]
        tanks[f"{site}-tank"] = {"watched_s": sum(w for _, w in seen), "lost_s": sum(l & w for l, w in seen),
                                 "unwatched_s": sum(1 - w for _, w in seen)}
    in_month = [n for n in losses if back.get(n, SECONDS) > 0]
    asked = [n for n in in_month if told[n] >= 0 and any(x["outage"] == n for x in notices)]
    waits = sorted(second(c["acknowledged_at"]) - told[c["outage"]] for c in calls if c["outage"] in asked)
    sent = sorted(second(x["created_at"]) for x in notices if x["outage"] in in_month
                  and 0 <= second(x["created_at"]) < SECONDS)
    bins = [0] * (SECONDS // 600 + 1)
    for at in sent:
        bins[at // 600] += 1
    return {"tanks": tanks, "outages": len(in_month), "asked": len(asked), "waits": waits, "messages": len(sent),
            "most": max(bins)}


class Report(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, SITES)
        text = self.watcher.config.read_text()
        for site in ("elm", "oak"):
            text = text.replace(f"name: Site {site}\n", f"name: Site {site}\n    area: north\n")
        self.watcher.config.write_text(text)
        self.watcher.enrol("elm-main")  # Makes the database.
        self.path = self.watcher.folder / "state" / "ebbwatch.sqlite3"

    def tearDown(self):
        self.watcher.remove()
        self.catchers.stop()

    def report(self, *more):
        done = subprocess.run([BIN / "ebbwatch", "--config", self.watcher.config, "report", "--month", "2026-10", *more],
                              capture_output=True, text=True, timeout=60, env={**os.environ, "TZ": "UTC"})
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout

    def test_every_figure_is_what_a_second_count_gives(self):
        Month(SEED).write(self.path)
        print(f"SEED={SEED}")
        told, counted = json.loads(self.report("--as", "json")), recount(self.path)
        for tank in told["tanks"]:
            for figure, value in counted["tanks"][tank["id"]].items():
                self.assertAlmostEqual(tank[figure], value, delta=1, msg=f"{tank['id']} {figure}")
            mine = counted["tanks"][tank["id"]]
            self.assertAlmostEqual(tank["availability"], 1 - mine["lost_s"] / mine["watched_s"], places=5)
        self.assertEqual(len(told["outages"]), counted["outages"])
        performance = told["performance"]
        self.assertEqual(performance["asked"], counted["asked"])
        self.assertEqual(performance["acknowledged"], len(counted["waits"]))
        self.assertEqual(performance["acknowledged_longest_s"], counted["waits"][-1])
        self.assertEqual(performance["acknowledged_median_s"], counted["waits"][(len(counted["waits"]) - 1) // 2])
        self.assertEqual(performance["people"][0]["messages"], counted["messages"])
        self.assertEqual(performance["people"][0]["most_in_ten_minutes"], counted["most"])

        text = self.report()
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        for tank in told["tanks"]:
            share = f"{int(tank['availability'] * 100_000 + 1e-6) / 1000:.3f} %"
            self.assertIn(share, text)
            self.assertIn(share, self.report("--as", "html"))
        one = json.loads(self.report("--as", "json", "--site", "quay"))
        self.assertEqual([tank["id"] for tank in one["tanks"]], ["quay-tank"])

    def test_wrong_questions_are_refused_with_the_remedy(self):
        for arguments, words in ((["--month", "october"], "write 2026-10"), (["--month", "2099-01"], "not begun"),
                                 (["--site", "pond"], "no site pond")):
            done = self.watcher.command("report", *arguments, check=False)
            self.assertEqual(done.returncode, 2)
            self.assertIn(words, done.stderr)


if __name__ == "__main__":
    unittest.main()
