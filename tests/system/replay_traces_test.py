"""Replays the development traces in the folder that EBBWATCH_TRACES names: figures against the truth,
counted here a second time from the decisions; the same bytes twice; and decisions of a part as the first
part of the decisions of the whole. Skipped, and said so, where the folder is not there."""
import gzip
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

EBBWATCH = pathlib.Path(os.environ["EBBWATCH_BIN_DIR"]) / "ebbwatch"
TRACES = pathlib.Path(os.environ.get("EBBWATCH_TRACES") or "/nonexistent")
SKIPPED = 77
CUTS = (0.03, 0.21, 0.5, 0.77, 0.96)


def replay(folder, trace, out, *more):
    return subprocess.run([EBBWATCH, "replay", "--config", folder / "site.yaml", "--trace", trace,
                           "--out", out, *more], capture_output=True, text=True, timeout=600)


def sets():
    found = sorted(path.parent for path in TRACES.glob("dev/*/trace.csv.gz"))
    return found + sorted(path.parent for path in TRACES.glob("real-*/trace.csv.gz"))


def told_losses(lines):
    return [d for d in map(json.loads, lines) if d["decision"] == "loss"]


class ReplayTraces(unittest.TestCase):
    def setUp(self):
        work = tempfile.TemporaryDirectory()
        self.addCleanup(work.cleanup)
        self.work = pathlib.Path(work.name)

    def run_set(self, folder):
        """The decisions' bytes and the summary."""
        out, summary = self.work / "decisions", self.work / "summary"
        run = replay(folder, folder / "trace.csv.gz", out, "--truth", folder / "truth.csv",
                     "--summary", summary)
        self.assertEqual(run.returncode, 0, run.stderr)
        figures = json.loads(summary.read_text())
        return out.read_bytes(), figures

    @staticmethod
    def show(folder, figures):
        print(f"{folder.name}: {figures['outages_found']} of {figures['outages']} found, "
              f"{figures['false_losses']} false, {figures['excess_notices']} excess, detection "
              f"{figures['detection_s']}, causes {figures['causes_right']} of "
              f"{figures['causes_judged']}", flush=True)

    def check_against_detail(self, folder, decisions, figures):
        """Missed outages counted again, from the file that grades each event."""
        detail = json.loads((folder / "truth-meta.json").read_text())
        if "events" not in detail:
            return
        losses = told_losses(decisions.decode().splitlines())
        missed = [event for event in detail["events"] if event["grade"] == "must" and not any(
            event["start_s"] <= loss["time_s"] <= event["end_s"] + 600 for loss in losses)]
        self.assertEqual(missed, [], folder.name)
        self.assertEqual(figures["outages_missed"], 0, folder.name)
        kinds = [event["grade"] for event in detail["events"]]
        self.assertEqual(figures["blips"], kinds.count("blip"), folder.name)
        self.assertEqual(figures["outages"] + figures["optional_outages"],
                         kinds.count("must") + kinds.count("may"), folder.name)

    def test_figures_and_equal_bytes(self):
        for folder in sets():
            decisions, figures = self.run_set(folder)
            self.show(folder, figures)
            again, _ = self.run_set(folder)
            self.assertEqual(decisions, again, folder.name)
            self.check_against_detail(folder, decisions, figures)
            self.assertEqual(figures["blind_losses"], 0, folder.name)
            self.assertEqual(figures["decisions"]["loss"],
                             len(told_losses(decisions.decode().splitlines())))
            if folder.name == "steady-clean":
                self.assertEqual(figures["decisions"]["loss"], 0)
            if folder.name in ("steady-clean", "home-with-ups", "watcher-link-down-often"):
                self.assertEqual(figures["false_losses"], 0, folder.name)

    def test_a_part_decides_what_the_whole_decides(self):
        for folder in sets():
            lines = gzip.open(folder / "trace.csv.gz", "rt").readlines()
            out = self.work / "decisions"
            replay(folder, folder / "trace.csv.gz", out)
            whole = out.read_bytes()
            for share in CUTS:
                part = self.work / "part.csv"
                part.write_text("".join(lines[:int(len(lines) * share)]))
                run = replay(folder, part, out)
                self.assertEqual(run.returncode, 0, run.stderr)
                self.assertTrue(whole.startswith(out.read_bytes()), f"{folder.name} at {share}")


if __name__ == "__main__":
    if not sets():
        print("SKIPPED: EBBWATCH_TRACES names no folder with traces")
        sys.exit(SKIPPED)
    unittest.main(verbosity=2)
