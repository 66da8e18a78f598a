"""How people answer, with the real daemon: the link in a mail, a text in reply through a gateway that
calls back, and through a modem."""
import http.client
import re
import unittest
import urllib.parse

from harness import Catchers, CheckInLoop, Watcher, wait_until
from modem_line import ModemLine

SETTINGS = """
watcher: {{name: pier, state_dir: {folder}/state, uplink_references: [], uplink_quorum: 0}}
detection: {{on_delay: 1s, off_delay: 1s, min_missed: 2}}
sites:
  - {{id: oak, name: Oak House, call_list: everyday,
     tanks: [{{id: reef, name: Lagoon reef, controllers: [{{id: reef-main, interval: 1s}}]}}]}}
notifiers:
  - {{id: mail, kind: email, server: "smtp://127.0.0.1:{smtp}", starttls: never, from: "tanks@example.net"}}
{notifiers}
keyholders:
  - {{id: robin, name: Robin, email: robin@example.net, phone: "+15550100"}}
  - {{id: sam, name: Sam, email: sam@example.net, phone: "+15550101"}}
  - {{id: kim, name: Kim, email: kim@example.net, phone: "+15550102"}}
call_lists:
  - id: everyday
    steps:
      - {{after: 0min, tell: [robin, sam], by: [{by}]}}
      - {{after: 15min, tell: [kim], by: [mail]}}
listen:
  public_url: "http://127.0.0.1:{port}"
  check_in_http: {{address: "127.0.0.1", port: {port}}}
"""
GATEWAY = """  - {{id: text, kind: sms_gateway, url: "http://127.0.0.1:{http}/text", method: POST,
     fields: {{to: "{{phone}}", text: "{{text}}", id: "{{notice}}", report: "{{report_url}}"}},
     calls: {{secret: {{file: door.secret}}, sender: src, text: words}}}}"""
MODEM = "  - {{id: text, kind: gsm_modem, device: {folder}/modem, time_limit: 3s}}"
DOOR = "only-for-tests-1234"


class Answers(unittest.TestCase):
    def begin(self, notifiers="", by="mail"):
        self.catchers = Catchers()
        self.addCleanup(self.catchers.stop)
        self.watcher = Watcher(self.catchers, ["oak"])
        self.addCleanup(self.watcher.remove)
        values = self.watcher.values
        self.watcher.config.write_text(
            SETTINGS.format(**values, notifiers=notifiers.format(**values), by=by))
        self.watcher.write_secret("door.secret", DOOR)
        self.watcher.enrol("reef-main")

    def fall_silent(self):
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["reef-main"], 0.4)
        self.loop.start()
        self.addCleanup(self.loop.stop)
        wait_until(lambda: self.watcher.status()["sites"][0]["tanks"][0]["controllers"][0]["last_heard"],
                   "the controller to be heard")
        self.loop.silent.add("reef-main")

    def alarm(self):
        return self.watcher.status()["sites"][0]["alarm"]

    def ask(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.watcher.port, timeout=10)
        connection.request(method, path, body, {"Content-Type": "application/x-www-form-urlencoded"} if body else {})
        answer = connection.getresponse()
        page = answer.read().decode()
        connection.close()
        return answer.status, page

    def mails_to(self, name):
        return [mail for mail in list(self.catchers.mails) if name in mail["To"]]

    def comes_back(self):
        """The recovery reaches those who were told, and nobody else."""
        self.loop.silent.clear()
        wait_until(lambda: not self.watcher.status()["outages"], "the end of the outage")
        self.assertEqual(self.mails_to("kim"), [])


class Link(Answers):
    def test_looking_changes_nothing_and_the_button_takes_it_on_once(self):
        self.begin()
        self.fall_silent()
        wait_until(lambda: len(self.catchers.mails) == 2, "both mails")
        link = re.search(r"http://127\.0\.0\.1:\d+(/v1/answer/\S+)", self.mails_to("robin")[0].get_content())[1]
        others = re.search(r"(/v1/answer/\S+)", self.mails_to("sam")[0].get_content())[1]
        self.assertNotEqual(link, others)
        # What mail scanners and previews of links do.
        for method in ("GET", "HEAD", "GET"):
            status, page = self.ask(method, link)
            self.assertEqual(status, 200)
        self.assertIn("Robin", page)
        self.assertIn("No contact with Oak House", page)
        self.assertEqual(self.alarm(), "unacknowledged")
        self.assertEqual(self.ask("GET", link[:-1] + ("A" if link[-1] != "A" else "B"))[0], 404)

        status, page = self.ask("POST", link)
        self.assertEqual(status, 200)
        self.assertIn("Robin, you have it", page)
        self.assertEqual(self.alarm(), "acknowledged")
        mail = wait_until(lambda: self.mails_to("sam")[1:], "Sam to hear who has it")[0]
        self.assertIn("Robin has taken it on", mail["Subject"])
        self.assertEqual(len(self.mails_to("robin")), 1)

        status, page = self.ask("POST", link)
        self.assertEqual(status, 200)
        self.assertIn("has been used", page)
        self.assertIn("Robin has it already", self.ask("GET", others)[1])
        # The link outlives a crash; the outage's end does not leave it of use.
        self.watcher.kill()
        self.watcher.start()
        self.assertIn("has been used", self.ask("GET", link)[1])
        self.comes_back()
        self.assertEqual(self.ask("GET", others)[0], 410)
        self.assertEqual(self.ask("POST", others)[0], 410)
        self.assertNotIn(link.rsplit("/", 1)[1], self.watcher.log_text())


class Gateway(Answers):
    def texts_to(self, number):
        return [text for text in list(self.catchers.texts) if text["to"] == number]

    def call(self, rest, **fields):
        return self.ask("POST", f"/v1/gateway/text/{DOOR}/{rest}", urllib.parse.urlencode(fields))

    def test_reports_and_replies(self):
        self.begin(GATEWAY, by="text, mail")
        self.fall_silent()
        wait_until(lambda: len(self.catchers.texts) == 2, "both texts")
        robins, sams = self.texts_to("+15550100")[0], self.texts_to("+15550101")[0]
        code = re.search(r"Reply OK (\d{4})\.", robins["text"])[1]
        # What did not reach Robin's telephone goes the next way; Sam's text arrived.
        self.assertTrue(robins["report"].endswith(f"/v1/gateway/text/{DOOR}/report/" + robins["id"]))
        self.assertEqual(self.ask("POST", urllib.parse.urlsplit(robins["report"]).path, "status=UNDELIV")[0], 204)
        self.assertEqual(self.ask("GET", urllib.parse.urlsplit(sams["report"]).path + "?status=DELIVRD")[0], 204)
        wait_until(lambda: self.mails_to("robin"), "the mail after the text that failed")
        self.assertEqual(self.mails_to("sam"), [])
        self.check_replies(code)
        self.comes_back()
        wait_until(lambda: " back" in self.texts_to("+15550101")[-1]["text"], "the recovery by text")
        for notice in (robins, sams):
            self.assertNotIn(DOOR, self.watcher.log_text())
            self.assertIn(notice["id"], self.watcher.log_text())

    def check_replies(self, code):
        refused = [({"src": "+15559999", "words": f"OK {code}"}, ""),
                   ({"src": "+15550102", "words": f"OK {code}"}, "not told"),  # Kim is called only later.
                   ({"src": "+15550101", "words": "who is this?"}, "Not understood"),
                   ({"src": "+15550101", "words": "OK 0000"}, "No outage")]
        for fields, answer in refused:
            status, text = self.call("text", **fields)
            self.assertEqual(status, 200)
            self.assertIn(answer, text)
            self.assertEqual(self.alarm(), "unacknowledged", fields)
        self.assertEqual(self.ask("GET", f"/v1/gateway/text/{DOOR}x/text?src=1&words=1")[0], 404)
        status, text = self.call("text", src="15550101", words=f"ok, {code}. On my way")
        self.assertEqual(status, 200)
        self.assertIn("You have it", text)
        self.assertEqual(self.alarm(), "acknowledged")
        wait_until(lambda: any("Sam has taken it on" in mail["Subject"] for mail in self.mails_to("robin")),
                   "Robin to hear who has it, by the way that reached him")
        self.assertIn("You have it already", self.call("text", src="+15550101", words=f"OK {code}")[1])


class Modem(Answers):
    def begin_with(self, behaviour, options=()):
        self.begin(MODEM, by="text, mail")
        self.modem = ModemLine(self.watcher.folder, behaviour, options).start()
        self.addCleanup(self.modem.stop)

    def test_a_text_in_reply_takes_it_on(self):
        self.begin_with("accept", ["noise"])
        self.fall_silent()
        wait_until(lambda: len(self.modem.sent()) == 2, "both texts")
        code = re.search(r"Reply OK (\d{4})\.", self.modem.sent()[0]["text"])[1]
        self.modem.text_in("+15559999", f"OK {code}")
        self.modem.text_in("+15550102", f"OK {code}")
        self.modem.text_in("+15550101", f"ok {code}")
        wait_until(lambda: self.alarm() == "acknowledged", "the reply to be taken")
        wait_until(lambda: any(text["to"] == "+15550100" and "Sam has taken it on" in text["text"]
                               for text in self.modem.sent()), "Robin to hear who has it")
        refused = [line for line in self.watcher.log_text().splitlines() if "[text_not_answering]" in line]
        self.assertEqual(len(refused), 2)
        self.assertNotIn("5559999", "".join(refused))
        self.comes_back()

    def fails_over(self, behaviour):
        self.begin_with(behaviour)
        self.fall_silent()
        wait_until(lambda: self.mails_to("robin") and self.mails_to("sam"), "the mails instead")
        way = next(one for one in self.watcher.status()["notifiers"] if one["id"] == "text")
        self.assertEqual(way["state"], "failing", way)
        return way

    def test_an_error_sends_the_mail_at_once(self):
        self.assertIn("28", self.fails_over("refuse")["answer"])

    def test_a_silent_modem_sends_the_mail_and_comes_back_later(self):
        self.fails_over("hang_after_text")
        before = len(self.modem.sent())
        self.modem.behave("accept")
        wait_until(lambda: next(one for one in self.watcher.status()["notifiers"] if one["id"] == "text")["state"] ==
                   "working" or len(self.modem.sent()) > before, "the modem to be used again", 90)


if __name__ == "__main__":
    unittest.main()
