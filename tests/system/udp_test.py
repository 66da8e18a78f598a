"""Check-ins by datagram with the real daemon, made by Python's own HMAC: taken, told, forged,
replayed, truncated, reordered, without a clock, over a restart."""
import contextlib
import hashlib
import hmac
import json
import random
import socket
import sqlite3
import time
import unittest

from harness import Catchers, Watcher, free_port, wait_until


def sealed(key, text):
    return f"{text} {hmac.new(key.encode(), text.encode(), hashlib.sha256).hexdigest()[:32]}".encode()


def now_ms():
    return time.time_ns() // 1_000_000


class Controller:
    """A small device: its own count, key and last echo."""

    def __init__(self, watcher, name, address="127.0.0.1"):
        self.name, self.key = name, watcher.keys[name]
        self.socket = socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET,
                                    socket.SOCK_DGRAM)
        self.socket.connect((address, watcher.udp_port))
        self.seq, self.echo = 0, "-"

    def datagram(self, at="now", pairs="power=mains,uptime_s=5", echo="-", seq=None):
        self.seq += 1
        at = now_ms() if at == "now" else at
        return sealed(self.key, f"EBB1 {self.name} {self.seq if seq is None else seq} {at} {echo} {pairs}")

    def ask(self, datagram, wait=10.0):
        """The answer, checked; None when there is none."""
        self.socket.settimeout(wait)
        self.socket.send(datagram)
        try:
            answer = self.socket.recv(600)
        except socket.timeout:
            return None
        assert len(answer) <= len(datagram), (answer, datagram)
        word, ok, echo, mac = answer.decode().split(" ")
        assert (word, ok) == ("EBB1", "ok"), answer
        assert answer == sealed(self.key, f"EBB1 ok {echo}"), answer
        return echo

    def close(self):
        self.socket.close()


class Udp(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, ["elm", "oak"], interval="1s", on_delay="2s")
        self.watcher.udp_port = free_port()
        text = self.watcher.config.read_text()
        self.watcher.config.write_text(
            text + f'  check_in_udp: {{address: "::", port: {self.watcher.udp_port}}}\n')
        self.watcher.enrol("elm-main", "oak-main")
        self.watcher.start()
        self.elm = Controller(self.watcher, "elm-main")
        self.oak = Controller(self.watcher, "oak-main", "::1" if socket.has_ipv6 else "127.0.0.1")

    def tearDown(self):
        self.elm.close()
        self.oak.close()
        self.watcher.remove()
        self.catchers.stop()

    def controller(self, site):
        sites = {s["id"]: s for s in self.watcher.status()["sites"]}
        return sites[site]["tanks"][0]["controllers"][0]

    def counts(self):
        return self.watcher.status()["check_in_udp"]

    def refused_without_a_word(self, datagrams, counter):
        """Sends them; a genuine one behind them is answered, so that they were all looked at."""
        before = self.counts()
        for datagram in datagrams:
            self.elm.socket.send(datagram)
        self.assertIsNotNone(self.elm.ask(self.elm.datagram()))
        after = self.counts()
        self.assertEqual(after[counter] - before[counter], len(datagrams), after)
        self.assertEqual(after["answered"] - before["answered"], 1)
        self.assertEqual(after["taken"] - before["taken"], 1)

    def test_datagrams_are_contact_are_kept_and_their_silence_is_told(self):
        pairs = "power=battery,battery_pct=80,temperature_c=25.4,watts.heater=120,uptime_s=7"
        self.assertIsNotNone(self.elm.ask(self.elm.datagram(pairs=pairs)))
        self.assertIsNotNone(self.oak.ask(self.oak.datagram()))
        self.assertEqual(self.controller("elm")["contact"], "present")
        self.assertEqual(self.controller("oak")["contact"], "present")

        def told():
            self.oak.ask(self.oak.datagram())  # It goes on, so that only one is lost.
            return self.catchers.mails
        mail = wait_until(told, "the loss to be told")[0]
        text = mail.get_content()
        self.assertIn("Site elm", text)
        self.assertIn("heater 120 W", text)
        trace = self.watcher.command("history", "--as", "trace").stdout
        self.assertRegex(trace, r"check-in,elm-main,,1,7(\.0)?,battery")

    def test_forged_replayed_truncated_and_reordered_ones_are_no_contact(self):
        first = self.elm.datagram()
        self.assertIsNotNone(self.elm.ask(first))
        second = self.elm.datagram()
        held_back = self.elm.datagram()
        self.assertIsNotNone(self.elm.ask(self.elm.datagram()))
        self.refused_without_a_word([first, second, held_back, first], "replayed")
        self.refused_without_a_word([first[:n] for n in range(0, len(first), 7)] +
                                    [first + b" ", first + b"x" * 400, b"\0" * 30], "malformed")
        random.seed(1)
        forged = []
        for i in range(200):
            one = bytearray(self.elm.datagram())
            digit = one[-1 - i % 32]
            one[-1 - i % 32] = ord("0") if digit != ord("0") else ord("1")
            forged.append(bytes(one))
        forged.append(sealed(self.oak.key, f"EBB1 elm-main 99 {now_ms()} - power=mains"))
        forged.append(sealed(hashlib.sha256(self.elm.key.encode()).hexdigest(),
                             f"EBB1 elm-main 99 {now_ms()} - power=mains"))
        forged.append(sealed(self.elm.key, f"EBB1 nobody 99 {now_ms()} - power=mains"))
        self.refused_without_a_word(forged, "wrong_mac")
        self.refused_without_a_word([self.elm.datagram(at=now_ms() - 301_000),
                                     self.elm.datagram(at=now_ms() + 302_000)], "clock_off")
        self.refused_without_a_word([self.elm.datagram(pairs="power=coal")], "wrong_fields")
        log = self.watcher.log_text()
        self.assertLess(log.count("check_in_refused"), 8, log)  # Not a line for each.
        self.assertNotIn(self.elm.key, log)

    def test_without_a_clock_the_echo_proves_that_it_is_new(self):
        echo = self.elm.ask(self.elm.datagram(at="-"))
        self.assertIsNone(self.controller("elm")["last_heard"])
        good = self.elm.datagram(at="-", echo=echo)
        following = self.elm.ask(good)
        self.assertIsNotNone(self.controller("elm")["last_heard"])
        taken = self.counts()["taken"]
        self.assertEqual(self.elm.ask(good), following)  # An answer may have been lost …
        self.assertEqual(self.counts()["taken"], taken)  # … but that is no contact.

    def is_stored(self):
        path = self.watcher.folder / "state" / "ebbwatch.sqlite3"
        with contextlib.closing(sqlite3.connect(path)) as database:
            return database.execute("SELECT count(datagram_at) FROM controllers").fetchone()[0]

    def test_a_replay_stays_one_over_a_crash(self):
        taken = self.elm.datagram()
        self.assertIsNotNone(self.elm.ask(taken))
        wait_until(self.is_stored, "the first contact to be stored")
        self.watcher.kill()
        self.watcher.start()
        self.refused_without_a_word([taken], "replayed")
        self.assertEqual(self.watcher.terminate(), 0)

    def test_enrol_prints_lines_that_work(self):
        text = self.watcher.command("enrol", "elm-main").stdout
        self.assertIn("By datagram (UDP)", text)
        told = json.loads(self.watcher.command("enrol", "elm-main", "--json").stdout)
        self.assertTrue(told["check_in_udp"].endswith(f":{self.watcher.udp_port}"))
        self.watcher.keys["elm-main"] = told["key"]
        renewed = Controller(self.watcher, "elm-main")
        self.assertIsNotNone(renewed.ask(renewed.datagram()))
        renewed.close()
        self.refused_with_the_old_key()

    def refused_with_the_old_key(self):
        before = self.counts()["wrong_mac"]
        self.elm.socket.send(self.elm.datagram())
        wait_until(lambda: self.counts()["wrong_mac"] > before, "the old key to be refused")


if __name__ == "__main__":
    unittest.main()
