"""The real daemon with a real mail server and a real SMS gateway: postfix that greylists, refuses, requires
TLS or shows a wrong certificate; Kannel that queues, refuses, reports delivery and passes replies on."""
import email
import email.policy
import re
import sys
import unittest

from harness import Catchers, CheckInLoop, Watcher, wait_until
from real_servers import Kannel, Postfix, missing

SETTINGS = """
watcher: {{name: pier, state_dir: {folder}/state, uplink_references: [], uplink_quorum: 0}}
detection: {{on_delay: 1s, off_delay: 1s, min_missed: 2}}
sites:
  - {{id: oak, name: Oak House, call_list: everyday,
     tanks: [{{id: reef, name: Lagoon reef, controllers: [{{id: reef-main, interval: 1s}}]}}]}}
notifiers:
{notifiers}
keyholders:
{keyholders}
call_lists:
  - {{id: everyday, steps: [{steps}]}}
listen:
  check_in_http: {{address: "127.0.0.1", port: {port}}}
"""
MAIL = '  - {{id: {id}, kind: email, server: "smtp://localhost:{server}", from: "tanks@example.net", starttls: {tls}{more}}}\n'
HOOK = '  - {{id: hook, kind: webhook, url: "http://127.0.0.1:{http}/hook", signing_key: {{file: hook.key}}}}\n'
TEXT = """  - {{id: text, kind: sms_gateway, url: "http://127.0.0.1:{send}/cgi-bin/sendsms", accepted_status: [202],
     fields: {{username: tanks, password: "{{secret}}", to: "{{phone}}", text: "{{text}}", dlr-mask: "19",
              dlr-url: "{{report_url}}?status=%d"}},
     secret: {{file: {secret}}}, calls: {{secret: {{file: door.secret}}, url: "http://127.0.0.1:{port}"}}}}
"""
DOOR = "only-for-tests-1234"


class RealServers(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.addCleanup(self.catchers.stop)
        self.watcher = Watcher(self.catchers, ["oak"])
        self.addCleanup(self.watcher.remove)

    def fall_silent(self, notifiers, keyholders, steps):
        self.watcher.config.write_text(SETTINGS.format(
            notifiers=notifiers, keyholders=keyholders, steps=steps, **self.watcher.values))
        self.watcher.write_secret("door.secret", DOOR)
        self.watcher.write_secret("sms.secret", "open-sesame")
        self.watcher.write_secret("wrong.secret", "sesame")
        self.watcher.enrol("reef-main")
        self.watcher.start()
        self.loop = CheckInLoop(self.watcher, ["reef-main"], 0.4)
        self.loop.start()
        self.addCleanup(self.loop.stop)
        tank = lambda: self.watcher.status()["sites"][0]["tanks"][0]
        wait_until(lambda: tank()["controllers"][0]["last_heard"], "the controller to be heard")
        self.loop.silent.add("reef-main")

    def logged(self, pattern):
        return re.search(pattern, self.watcher.log_text())


class Mail(RealServers):
    def test_greylisting_tls_and_refusals(self):
        server = Postfix()
        self.addCleanup(server.stop)
        trust = ", ca_file: {{file: {}}}"
        good, wrong = (trust.format(server.folder / (name + ".crt")) for name in ("good", "wrong"))
        self.fall_silent(
            MAIL.format(id="grey", server=server.grey, tls="never", more="") +
            MAIL.format(id="closed", server=server.closed, tls="required", more=good) +
            MAIL.format(id="wrong", server=server.wrong, tls="required", more=wrong) +
            MAIL.format(id="stranger", server=server.closed, tls="required", more="") +
            MAIL.format(id="open", server=server.closed, tls="never", more="") +
            HOOK.format(http=self.catchers.http_port),
            "".join(f'  - {{id: {p}, name: {p}, email: {p}@example.net}}\n'
                    for p in ("robin", "sam", "kim", "nobody", "lee", "max")),
            "{after: 0min, tell: [robin], by: [grey]}, {after: 0min, tell: [sam], by: [closed]}, "
            "{after: 0min, tell: [kim], by: [wrong, closed]}, {after: 0min, tell: [nobody], by: [closed, hook]}, "
            "{after: 0min, tell: [lee], by: [stranger]}, {after: 0min, tell: [max], by: [open, hook]}")
        # TLS required, and the certificate is good.
        sam = wait_until(lambda: server.mailbox("sam"), "Sam's mail")[0]
        self.assertIn(b"using TLS", sam)
        # Refused for good by the server: the next way, at once.
        wait_until(lambda: self.logged(r"to nobody by closed, attempt 1: refused for good.*550"), "the refusal")
        wait_until(lambda: self.logged(r"to nobody by hook, attempt 1: delivered"), "the next way")
        # A name that is not the server's, and a signature that nobody vouches for: nothing is sent there.
        wait_until(lambda: self.logged(r"to kim by wrong, attempt 1: (not taken yet|refused for good)"), "the bad name")
        wait_until(lambda: server.mailbox("kim"), "Kim's mail by the other way")
        wait_until(lambda: self.logged(r"to lee by stranger, attempt 1: (not taken yet|refused for good)"), "the stranger")
        # The server wants TLS and we were told never to use it.
        wait_until(lambda: self.logged(r"to max by open, attempt 1: (not taken yet|refused for good).*530"), "530")
        # Put off once, taken the second time: one mail, and it reads without a defect.
        wait_until(lambda: self.logged(r"to robin by grey, attempt 1: not taken yet.*450"), "the greylisting")
        raw = wait_until(lambda: server.mailbox("robin"), "Robin's mail the second time")
        mail = email.message_from_bytes(raw[0], policy=email.policy.default)
        self.assertEqual((len(raw), mail.defects), (1, []))
        self.assertIn("Oak House", mail["Subject"])
        self.assertIn("no contact since", mail["Subject"])
        wait_until(lambda: self.logged(r"to robin by grey, attempt 2: delivered"), "its record")
        self.assertNotIn("lee@example.net", server.log())


class Text(RealServers):
    def test_queued_reported_and_answered(self):
        gateway = Kannel(f"http://127.0.0.1:{self.watcher.port}/v1/gateway/text/{DOOR}/text")
        self.addCleanup(gateway.stop)
        self.fall_silent(TEXT.format(send=gateway.send, port=self.watcher.port, secret="sms.secret"),
                         '  - {id: robin, name: Robin, phone: "+15550100"}\n',
                         "{after: 0min, tell: [robin], by: [text]}")
        # No network yet: the gateway queues it, which is as good as taken.
        wait_until(lambda: self.logged(r"to robin by text, attempt 1: delivered.*Queued"), "the queue")
        gateway.open_network()
        wait_until(lambda: "Got message 1:" in gateway.received(), "the text to reach the network")
        code = wait_until(lambda: re.search(r"Reply OK (\d{4})", gateway.received()), "the code")[1]
        wait_until(lambda: self.logged(r"\[delivery_report\]"), "the report")
        self.assertEqual(self.watcher.status()["sites"][0]["alarm"], "unacknowledged")
        # Robin answers by a text through the same network.
        gateway.close_network()
        gateway.open_network(f"+15550100 100 text OK {code}")
        wait_until(lambda: self.watcher.status()["sites"][0]["alarm"] == "acknowledged", "the answer")

    def test_refused(self):
        gateway = Kannel("http://127.0.0.1:9/")
        self.addCleanup(gateway.stop)
        self.fall_silent(TEXT.format(send=gateway.send, port=self.watcher.port, secret="wrong.secret") +
                         HOOK.format(http=self.catchers.http_port),
                         '  - {id: robin, name: Robin, phone: "+15550100"}\n',
                         "{after: 0min, tell: [robin], by: [text, hook]}")
        wait_until(lambda: self.logged(r"to robin by text, attempt 1: refused for good.*403"), "the refusal")
        wait_until(lambda: self.catchers.hooks, "the next way")
        self.assertNotIn("sesame", self.watcher.log_text())


if __name__ == "__main__":
    if missing():
        print("skipped: " + missing())
        sys.exit(77)
    unittest.main()
