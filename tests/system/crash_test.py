"""kill -9 at varied moments under load, with counterparts that misbehave by a script (tests/system/crash). The
books of the counterparts against the store: nothing lost, nothing told that was not stored, a second copy only
after a crash or a lost answer and with the same identifier, what people were promised is kept.

ROUNDS (default 50) and SEED choose how much and which moments; the seed is printed. tools/crash-test is the same
for a terminal."""
import os
import unittest

from crash.books import Books
from crash.run import Run

ROUNDS = int(os.environ.get("ROUNDS", "50"))
SEED = os.environ.get("SEED", "20261125")


class Crash(unittest.TestCase):
    def test_nothing_is_lost_and_nothing_is_invented(self):
        print(f"rerun: SEED={SEED} ROUNDS={ROUNDS}", flush=True)
        run = Run(SEED)
        try:
            run.rounds(ROUNDS)
            run.heal()
            books = Books(run)
            print("\n".join(books.figures()), flush=True)
            self.assertEqual(books.faults(), [])
            losses = sum(decision["decision"] == "loss" for decision in books.decisions)
            self.assertGreaterEqual(losses, ROUNDS // 10, "too few losses to prove anything")
        finally:
            run.end()


if __name__ == "__main__":
    unittest.main()
