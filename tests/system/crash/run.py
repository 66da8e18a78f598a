"""Runs the rounds: load, silences, shelves and answers at moments drawn from a seed, then kill -9."""
import http.client
import random
import re
import subprocess
import sys
import threading
import time
import urllib.parse

from crash.counterparts import Book, HttpServer, MailServer
from harness import CheckInLoop, Watcher, wait_until
from modem_line import ModemLine

DOOR = "only-for-tests-1234"
CALM = ["calm-one", "calm-two"]
TROUBLED = ["wave", "tide", "surf", "foam"]
PEOPLE = ["robin", "sam"]
PHONES = {"robin": "+15550100", "sam": "+15550101"}

SETTINGS = """
watcher: {{name: pier, state_dir: {folder}/state, uplink_references: [], uplink_quorum: 0}}
detection: {{on_delay: 1s, off_delay: 1s, min_missed: 1}}
sites:
{sites}
notifiers:
  - {{id: mail, kind: email, server: "smtp://127.0.0.1:{smtp}", starttls: never, from: "tanks@example.net"}}
  - {{id: hook, kind: webhook, url: "http://127.0.0.1:{http}/hook"}}
  - {{id: text, kind: sms_gateway, url: "http://127.0.0.1:{http}/cgi-bin/sendsms",
     fields: {{to: "{{phone}}", text: "{{text}}", id: "{{notice}}", dlr-url: "{{report_url}}?status=%d"}},
     accepted_status: [202], calls: {{secret: {{file: door.secret}}, url: "http://127.0.0.1:{port}"}}}}
  - {{id: modem, kind: gsm_modem, device: {folder}/modem, time_limit: 4s}}
keyholders:
  - {{id: robin, name: Robin, email: robin@example.net, phone: "+15550100", summary_above: 0}}
  - {{id: sam, name: Sam, email: sam@example.net, phone: "+15550101", summary_above: 0}}
call_lists:
  - id: everyday
    steps:
      - {{after: 0min, tell: [robin], by: [text, mail]}}
      - {{after: 0min, tell: [sam], by: [modem, mail]}}
      - {{after: 0min, tell: [sam], by: [hook]}}
listen:
  public_url: "http://127.0.0.1:{port}"
  check_in_http: {{address: "127.0.0.1", port: {port}}}
"""


class Run:
    def __init__(self, seed):
        self.random = random.Random(seed)
        self.books = {name: Book(f"{seed} {name}") for name in ("mail", "http")}
        self.mail, self.http = MailServer(self.books["mail"]), HttpServer(self.books["http"])
        self.watcher = Watcher(_Ports(self.mail.port, self.http.port), CALM + TROUBLED, interval="1s")
        self.watcher.config.write_text(SETTINGS.format(**self.watcher.values))
        self.watcher.write_secret("door.secret", DOOR)
        controllers = [site + "-main" for site in CALM + TROUBLED]
        self.watcher.enrol(*controllers)
        self.loop = CheckInLoop(self.watcher, controllers, 0.25)
        self.modem = ModemLine(self.watcher.folder, manners=True).start()
        self.kills, self.acknowledged, self.shelved, self.moments = [], [], [], {}
        self.answering = random.Random(f"{seed} answers")
        for book in self.books.values():
            book.watchers.append(self.maybe_answer)

    def arrivals(self):
        modem = [{"way": "modem", "notice": None, "keyholder": next(p for p in PEOPLE if PHONES[p] == text["to"]),
                  "at": text["at"], "came": text["at"], "text": text["text"], "clean": text["behaviour"] in ("accept", "slow"),
                  "kind": "", "outage": ""} for text in self.modem.sent()]
        return [entry for book in self.books.values() for entry in book.all()] + modem

    # People.

    def maybe_answer(self, entry):
        if self.answering.random() < 0.08:
            threading.Timer(self.answering.uniform(0.0, 0.6), self.answer, [entry]).start()

    def answer(self, entry):
        """By the link of a mail, or by a text in reply; what was confirmed must outlive every crash."""
        link = re.search(r"http://127\.0\.0\.1:\d+(/v1/answer/\S+)", entry["text"])
        code = re.search(r"Reply OK (\d{4})\.", entry["text"])
        try:
            if entry["way"] == "mail" and link:
                if "you have it" in self.post(link[1], ""):
                    self.acknowledged.append({"outage": entry["outage"], "code": None, "by": entry["keyholder"]})
            elif entry["way"] == "text" and code:
                form = urllib.parse.urlencode({"from": entry["keyholder"], "text": "OK " + code[1]})
                if "You have it" in self.post(f"/v1/gateway/text/{DOOR}/text", form):
                    self.acknowledged.append({"outage": "", "code": code[1], "by": entry["keyholder"]})
        except (OSError, http.client.HTTPException):
            pass  # Killed meanwhile: nothing was promised.

    def post(self, path, body):
        connection = http.client.HTTPConnection("127.0.0.1", self.watcher.port, timeout=5)
        try:
            connection.request("POST", path, body, {"Content-Type": "application/x-www-form-urlencoded"})
            return connection.getresponse().read().decode()
        finally:
            connection.close()

    def shelve(self):
        site = self.random.choice(TROUBLED)
        done = self.watcher.command("shelve", "site/" + site, "--for", "4s", "--reason", "water change", "--by", "sam",
                                    check=False)
        if done.returncode == 0:
            self.shelved.append((site, time.time() + 4))

    # Rounds.

    def stir(self):
        """What happens to the tanks and the counterparts in this round."""
        for site in TROUBLED:
            change = self.random.random()
            if change < 0.4:
                self.loop.silent.add(site + "-main")
            elif change < 0.8:
                self.loop.silent.discard(site + "-main")
        self.modem.manners(self.random.choices(["accept", "refuse", "later", "hang_after_text", "slow"],
                                               [12, 1, 2, 1, 2])[0])

    def moment(self):
        """Waits until the moment of the kill. @return its name."""
        kind = self.random.choices(["any", "decided", "arrival", "starting", "shelving", "stopping"],
                                   [35, 25, 25, 5, 5, 5])[0]
        if kind == "any":
            time.sleep(self.random.uniform(0.0, 3.0))
        elif kind == "decided":
            self.wait_for(lambda seen=self.watcher.log_text().count("[decided]"):
                          self.watcher.log_text().count("[decided]") > seen)
            time.sleep(self.random.uniform(0.0, 0.03))
        elif kind == "arrival":
            book = self.books[self.random.choice(sorted(self.books))]
            book.came.clear()
            book.came.wait(4.0)
            time.sleep(self.random.uniform(0.0, 0.01))
        elif kind == "shelving":
            time.sleep(self.random.uniform(0.0, 1.0))
            self.shelve()
        elif kind == "stopping":
            time.sleep(self.random.uniform(0.5, 2.0))
            self.watcher.process.terminate()
            time.sleep(self.random.uniform(0.0, 0.05))
        return kind

    @staticmethod
    def wait_for(condition, seconds=4.0):
        end = time.monotonic() + seconds
        while time.monotonic() < end and not condition():
            time.sleep(0.002)

    def round(self, number):
        if self.random.random() < 0.05:
            # Killed while it reads its state.
            with open(self.watcher.folder / "daemon.log", "ab") as log:
                process = subprocess.Popen(self.watcher.arguments(), stderr=log, stdin=subprocess.DEVNULL)
            time.sleep(self.random.uniform(0.0, 0.15))
            process.kill()
            process.wait()
            self.count("starting")
        self.watcher.start()
        self.check_shelves()
        self.stir()
        if self.random.random() < 0.1:
            self.shelve()
        self.count(self.moment())
        self.watcher.kill()
        self.kills.append(time.time())

    def count(self, moment):
        self.moments[moment] = self.moments.get(moment, 0) + 1

    def check_shelves(self):
        """A shelf that was confirmed outlives the crash."""
        now = time.time()
        sites = {site["id"]: site for site in self.watcher.status()["sites"]}
        for site, until in self.shelved:
            if until > now + 1:
                assert sites[site].get("shelf"), f"{site} was shelved until {until}, forgotten at {now}"
        self.shelved_in_all = getattr(self, "shelved_in_all", 0) + sum(1 for _, until in self.shelved if until <= now)
        self.shelved = [one for one in self.shelved if one[1] > now]

    def rounds(self, count):
        self.loop.start()
        begun = time.monotonic()
        for number in range(count):
            self.round(number)
            if sys.stderr.isatty() or number % 100 == 99:
                print(f"\r{number + 1} of {count} rounds, {time.monotonic() - begun:.0f} s", end="", file=sys.stderr,
                      flush=True)
        print(file=sys.stderr)
        self.took = time.monotonic() - begun

    def heal(self):
        """Everything works again: the outbox must empty, and all tanks be in contact."""
        self.loop.silent.clear()
        for book in self.books.values():
            book.troubled = False
        self.answering = random.Random(0)
        self.books["mail"].watchers.clear()
        self.books["http"].watchers.clear()
        self.modem.manners("accept")
        self.watcher.start()

        def settled():
            status = self.watcher.status()
            return (not status["outages"] and all(site["contact"] == "in_contact" for site in status["sites"]) and
                    all(way["waiting"] == 0 for way in status["notifiers"]))
        wait_until(settled, "all sites in contact and the outbox empty", 420)
        self.watcher.terminate()

    def end(self):
        self.loop.stop()
        self.modem.stop()
        self.mail.stop()
        self.http.stop()
        self.watcher.remove()


class _Ports:
    """What Watcher wants to know of catchers."""

    def __init__(self, smtp, http_port):
        self.mail_server, self.http_port = self, http_port
        self.port = smtp
