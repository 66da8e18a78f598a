"""`ebbwatch replay` and `check-config` with the real binary, on small traces made here: what is told,
what is refused and how, that witnesses are heard, and that decisions never look ahead."""
import csv
import gzip
import io
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
  uplink_references: [{name: resolver, tcp: "192.0.2.53:53"}]
detection: {on_delay: 5min, off_delay: 3min}
sites:
  - id: elm-street
    tanks: [{id: lagoon, controllers: [{id: lagoon-main, interval: 60s}]}]
  - id: birch-street
    tanks: [{id: reef, controllers: [{id: reef-main, interval: 60s}]}]
"""


def made_trace(silences, hours=6, watchers=("harbour",), deaf=()):
    """Check-ins of both controllers every minute but for (controller, start, end); `deaf` lists
    (watcher, controller, start, end) of what one watcher alone does not hear."""
    draw = random.Random(2)
    rows = []
    for watcher in watchers:
        rows.append((0.0, watcher, "start", "", "", "", "", ""))
        for t in range(15, hours * 3600, 30):
            rows.append((float(t), watcher, "uplink", "resolver", "1", "", "", ""))
    for controller in ("lagoon-main", "reef-main"):
        for n in range(1, hours * 60):
            t = n * 60 + draw.uniform(0, 2)
            if any(c == controller and a <= t < b for c, a, b in silences):
                continue
            for watcher in watchers:
                if any((w, c) == (watcher, controller) and a <= t < b for w, c, a, b in deaf):
                    continue
                row = (round(t, 2), watcher, "check-in", controller, "", n, n * 60, "mains")
                rows.append(row)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows(sorted(rows, key=lambda row: row[0]))
    return HEADER + out.getvalue()


class ReplayTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.site = self.write("site.yaml", SITE)

    def write(self, name, content):
        (self.folder / name).write_text(content)
        return self.folder / name

    def ebbwatch(self, *arguments):
        return subprocess.run([EBBWATCH, *map(str, arguments)], capture_output=True, text=True,
                              timeout=120)

    def replay(self, trace, *more):
        path = self.write("trace.csv", trace)
        return self.ebbwatch("replay", "--config", self.site, "--trace", path, *more)

    def decisions(self, trace, *more):
        run = self.replay(trace, *more)
        self.assertEqual((run.returncode, run.stderr), (0, ""))
        return [json.loads(line) for line in run.stdout.splitlines()]

    def test_an_outage_is_one_loss_and_one_recovery(self):
        told = self.decisions(made_trace([("lagoon-main", 7200, 10800)]))
        self.assertEqual([d["decision"] for d in told if d["decision"] != "cause_revised"],
                         ["loss", "recovery"])
        loss, recovery = told[0], told[-1]
        self.assertEqual((loss["scope"], loss["subject"]), ("site", "elm-street"))
        self.assertEqual(loss["outage"], recovery["outage"])
        self.assertTrue(7200 + 240 <= loss["time_s"] <= 7200 + 480, loss)
        self.assertTrue(10800 + 180 <= recovery["time_s"] <= 10800 + 420, recovery)
        self.assertEqual(list(loss)[:8], ["time_s", "decision", "scope", "subject", "outage",
                                          "since_s", "cause", "confidence"])
        self.assertTrue(loss["evidence"] and all(isinstance(s, str) for s in loss["evidence"]))

    def test_a_blip_is_not_told(self):
        self.assertEqual(self.decisions(made_trace([("lagoon-main", 7200, 7400)])), [])

    def test_a_witness_that_hears_the_controller_prevents_the_loss(self):
        deaf = [("harbour", "lagoon-main", 7200, 10800)]
        alone = self.decisions(made_trace([], deaf=deaf))
        self.assertIn("loss", [d["decision"] for d in alone])
        watchers = ("harbour", "breakwater", "pier")
        together = self.decisions(made_trace([], watchers=watchers, deaf=deaf))
        self.assertNotIn("loss", [d["decision"] for d in together])
        as_witness = self.decisions(made_trace([], watchers=watchers, deaf=deaf),
                                    "--watcher", "breakwater")
        self.assertEqual(as_witness, [])

    def test_decisions_of_a_part_are_the_first_part_of_the_whole(self):
        silences = [("lagoon-main", 3000, 5000), ("reef-main", 4000, 9000)]
        watchers = ("harbour", "breakwater")
        lines = made_trace(silences, watchers=watchers).splitlines(keepends=True)
        whole = self.replay("".join(lines)).stdout
        self.assertEqual(self.replay("".join(lines)).stdout, whole)
        self.assertGreaterEqual(whole.count("\n"), 4)
        for cut in range(1, len(lines), 97):
            part = self.replay("".join(lines[:cut]))
            self.assertEqual(part.returncode, 0, part.stderr)
            self.assertTrue(whole.startswith(part.stdout), f"cut after line {cut}")

    def test_gzip_and_out_and_summary_files(self):
        trace = made_trace([("lagoon-main", 7200, 10800)])
        plain = self.replay(trace).stdout
        packed = self.folder / "trace.csv.gz"
        packed.write_bytes(gzip.compress(trace.encode()))
        truth = self.write("truth.csv", "start_s,end_s,scope,subject,cause\n"
                           "7200,10800,site,elm-street,internet\n14000,14100,tank,reef,blip\n")
        out, summary = self.folder / "out.jsonl", self.folder / "summary.json"
        run = self.ebbwatch("replay", "--config", self.site, "--trace", packed, "--truth", truth,
                            "--out", out, "--summary", summary)
        self.assertEqual((run.returncode, run.stdout, run.stderr), (0, "", ""))
        self.assertEqual(out.read_text(), plain)
        figures = json.loads(summary.read_text())
        self.assertEqual((figures["outages_found"], figures["outages_missed"],
                          figures["false_losses"], figures["blips"]), (1, 0, 0, 1))
        table = self.ebbwatch("replay", "--config", self.site, "--trace", packed, "--truth", truth)
        self.assertIn("outages that had to be told", table.stderr)
        self.assertLessEqual(max(map(len, table.stderr.splitlines())), 80)

    def test_the_configuration_may_be_named_before_or_after_the_command(self):
        path = self.write("trace.csv", made_trace([]))
        before = self.ebbwatch("--config", self.site, "replay", "--trace", path)
        after = self.ebbwatch("replay", "--trace", path, "--config", self.site)
        self.assertEqual((before.returncode, after.returncode), (0, 0))

    def test_what_is_wrong_is_said_with_its_exit_status(self):
        trace = made_trace([])
        broken = self.replay(trace + "99999,harbour,check-in,lagoon-main,,x,1,mains\n")
        line = trace.count("\n") + 1
        self.assertEqual(broken.returncode, 1)
        self.assertIn(f'trace.csv:{line}: column seq: "x" is not', broken.stderr)
        missing = self.ebbwatch("replay", "--config", self.site, "--trace", self.folder / "none")
        self.assertEqual(missing.returncode, 1)
        self.assertIn("No such file", missing.stderr)
        self.assertEqual(self.ebbwatch("replay", "--config", self.site).returncode, 2)
        stranger = self.replay(trace, "--watcher", "stranger")
        self.assertEqual(stranger.returncode, 2)
        self.assertIn("only of harbour", stranger.stderr)
        full = self.replay(made_trace([("lagoon-main", 7200, 10800)]), "--out", "/dev/full")
        self.assertEqual(full.returncode, 1)
        self.assertIn("No space left", full.stderr)

    def test_check_config_lists_every_problem_and_fails(self):
        path = self.write("bad.yaml", SITE.replace("on_delay", "on_dealy")
                          .replace("interval: 60s}]}]\n  - id: birch", "interval: 60}]}]\n  - id: birch"))
        run = self.ebbwatch("check-config", "--config", path)
        self.assertEqual(run.returncode, 2)
        self.assertIn(f"{path}:5:13: detection.on_dealy: unknown key", run.stderr)
        self.assertIn("Did you mean on_delay?", run.stderr)
        self.assertIn(f"{path}:8:68: sites[0].tanks[0].controllers[0].interval: \"60\"", run.stderr)
        self.assertEqual(self.ebbwatch("check-config", "--config", self.site).returncode, 0)
        nothing = self.ebbwatch("check-config", "--config", self.folder / "none.yaml")
        self.assertEqual(nothing.returncode, 2)

    def test_every_command_has_help_with_an_example(self):
        for command in ("check-config", "enrol", "status", "history", "acknowledge", "replay"):
            run = self.ebbwatch(command, "--help")
            self.assertEqual(run.returncode, 0)
            self.assertIn("Example: ebbwatch " + command, run.stdout)


if __name__ == "__main__":
    unittest.main(verbosity=2)
