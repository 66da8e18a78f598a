"""The board of the real daemon over HTTP: login, roles, pages, the event stream, and acknowledging."""
import http.client
import re
import time
import unittest
import urllib.parse

from harness import Catchers, CheckInLoop, Watcher, free_port, wait_until

PASSWORDS = {"viewer": "a viewer's pass phrase", "keyholder": "a keyholder's pass phrase",
             "host": "a host's pass phrase"}


class Visitor:
    """A browser without scripts: keeps cookies, follows no redirect by itself."""

    def __init__(self, port):
        self.port = port
        self.cookies = {}

    def ask(self, method, path, form=None, headers=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        sent = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items()), **(headers or {})}
        body = urllib.parse.urlencode(form) if form is not None else None
        if body is not None:
            sent["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, path, body, sent)
        answer = connection.getresponse()
        answer.text = answer.read().decode()
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, value = cookie.split(";")[0].split("=", 1)
            self.cookies[name] = value
        connection.close()
        return answer

    @staticmethod
    def token(page):
        return re.search(r'name="form_token" value="([^"]+)"', page).group(1)

    def enter(self, role, password=None, person="Robin", next_page="/"):
        page = self.ask("GET", "/login?" + urllib.parse.urlencode({"next": next_page})).text
        return self.ask("POST", "/login", {"form_token": self.token(page), "person": person, "role": role,
                                           "next": next_page, "password": password or PASSWORDS[role]})


class BoardTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.catchers = Catchers()
        cls.board_port = free_port()
        cls.watcher = Watcher(cls.catchers, ["mill", "quay"], more='  board: {address: "127.0.0.1", port: %d}'
                              % cls.board_port)
        cls.watcher.enrol("mill-main", "quay-main")
        cls.watcher.start()
        for role, password in PASSWORDS.items():
            cls.set_password(role, password)
        cls.loop = CheckInLoop(cls.watcher, ["mill-main", "quay-main"], 0.5)
        cls.loop.start()
        wait_until(lambda: cls.contact("mill") == "in_contact" == cls.contact("quay"), "contact")

    @classmethod
    def tearDownClass(cls):
        cls.loop.stop()
        started = time.monotonic()
        code = cls.watcher.terminate()
        cls.watcher.remove()
        cls.catchers.stop()
        assert code == 0, code

    @classmethod
    def set_password(cls, role, password):
        import subprocess
        from harness import BIN
        done = subprocess.run([BIN / "ebbwatch", "--config", cls.watcher.config, "board-password", role],
                              input=password + "\n", text=True, capture_output=True, timeout=60)
        assert done.returncode == 0, done.stderr
        assert "http://127.0.0.1:" in done.stdout, done.stdout

    @classmethod
    def contact(cls, site):
        return next(s for s in cls.watcher.status()["sites"] if s["id"] == site)["contact"]

    def inside(self, role):
        visitor = Visitor(self.board_port)
        answer = visitor.enter(role)
        self.assertEqual(answer.status, 303, answer.text)
        return visitor

    def test_nobody_sees_anything_without_login(self):
        stranger = Visitor(self.board_port)
        for path in ("/", "/site/mill", "/outage/pier-1", "/history"):
            answer = stranger.ask("GET", path)
            self.assertEqual(answer.status, 303)
            self.assertTrue(answer.headers["Location"].startswith("/login"))
            self.assertNotIn("mill", answer.text.lower())
        self.assertEqual(stranger.ask("GET", "/v1/events").status, 401)
        self.assertEqual(stranger.ask("GET", "/board.css").status, 200)
        self.assertEqual(stranger.ask("GET", "/%2e%2e/etc/passwd").status, 404)

    def test_every_answer_carries_the_safety_fields(self):
        visitor = self.inside("viewer")
        for path in ("/", "/site/mill", "/history", "/login", "/board.js", "/nowhere"):
            answer = visitor.ask("GET", path)
            self.assertIn("default-src 'none'", answer.headers["Content-Security-Policy"])
            self.assertIn("frame-ancestors 'none'", answer.headers["Content-Security-Policy"])
            self.assertEqual(answer.headers["X-Content-Type-Options"], "nosniff")
            self.assertEqual(answer.headers["Referrer-Policy"], "no-referrer")

    def test_a_session_is_new_and_ends_with_leaving(self):
        visitor = Visitor(self.board_port)
        visitor.cookies["ebbwatch-session"] = "chosen-by-somebody-else"
        answer = visitor.enter("viewer", next_page="/history")
        self.assertEqual(answer.headers["Location"], "/history")
        self.assertNotEqual(visitor.cookies["ebbwatch-session"], "chosen-by-somebody-else")
        cookie = [c for c in answer.headers.get_all("Set-Cookie") if "session" in c][0]
        for part in ("HttpOnly", "SameSite=Strict", "Path=/"):
            self.assertIn(part, cookie)
        before = dict(visitor.cookies)
        page = visitor.ask("GET", "/").text
        self.assertEqual(visitor.ask("POST", "/logout", {"form_token": visitor.token(page)}).status, 303)
        visitor.cookies = before
        self.assertEqual(visitor.ask("GET", "/").status, 303)

    def test_login_leads_to_no_other_host(self):
        visitor = Visitor(self.board_port)
        answer = visitor.enter("viewer", next_page="https://example.net/")
        self.assertEqual(answer.headers["Location"], "/")

    def test_site_page_has_controllers_and_call_list(self):
        page = self.inside("viewer").ask("GET", "/site/mill").text
        for part in ("Site mill", "mill-main", "present", "Call list", "at once", "Robin"):
            self.assertIn(part, page)
        self.assertEqual(self.inside("viewer").ask("GET", "/site/nowhere").status, 404)

    def test_a_new_password_ends_the_sessions_of_its_role_only(self):
        viewer, host = self.inside("viewer"), self.inside("host")
        self.set_password("viewer", "another pass phrase")
        self.assertEqual(viewer.ask("GET", "/").status, 303)
        self.assertEqual(host.ask("GET", "/").status, 200)
        self.set_password("viewer", PASSWORDS["viewer"])

    def test_loss_is_told_live_acknowledged_and_recovers(self):
        viewer, keyholder = self.inside("viewer"), self.inside("keyholder")
        page = viewer.ask("GET", "/").text
        self.assertIn("All 2 tanks are in contact.", page)
        stream = http.client.HTTPConnection("127.0.0.1", self.board_port, timeout=60)
        seen = re.search(r'data-seen="([^"]+)"', page).group(1)
        stream.request("GET", "/v1/events?after=" + seen, headers={
            "Cookie": "ebbwatch-session=" + viewer.cookies["ebbwatch-session"]})
        events = stream.getresponse()
        self.assertEqual(events.headers["Content-Type"], "text/event-stream")
        self.loop.silent.add("mill-main")
        heard = ""
        while "lost, unacknowledged" not in heard:
            line = events.readline().decode()
            self.assertNotEqual(line, "", "the stream ended early:\n" + heard)
            heard += line
        self.assertIn("event: window", heard)
        self.assertIn('id="window-mill-tank"', heard)
        outage = re.search(r'/outage/(pier-\d+)"', viewer.ask("GET", "/").text).group(1)
        self.assertNotIn("/acknowledge", viewer.ask("GET", "/outage/" + outage).text)

        form = keyholder.ask("GET", "/outage/" + outage).text
        act = f"/outage/{outage}/acknowledge"
        self.assertEqual(keyholder.ask("POST", act, {"form_token": "wrong"}).status, 403)
        self.assertEqual(viewer.ask("POST", act, {"form_token": viewer.token(page)}).status, 403)
        self.assertEqual(keyholder.ask("POST", act, {"form_token": keyholder.token(form)}).status, 303)
        while "lost, acknowledged" not in heard:
            heard += events.readline().decode()
        self.assertIn("Robin", viewer.ask("GET", "/").text)

        # Who comes back with the last number gets only what came after it.
        last = re.findall(r"^id: (\S+)$", heard, re.M)[-1]
        stream.close()
        again = http.client.HTTPConnection("127.0.0.1", self.board_port, timeout=60)
        again.request("GET", "/v1/events", headers={
            "Last-Event-ID": last, "Cookie": "ebbwatch-session=" + viewer.cookies["ebbwatch-session"]})
        events = again.getresponse()
        self.loop.silent.clear()
        heard = ""
        while not re.search(r'id="window-mill-tank" class="window off"', heard):
            heard += events.readline().decode()
        self.assertNotIn("unacknowledged", heard)
        again.close()

        timeline = wait_until(lambda: (t := viewer.ask("GET", "/outage/" + outage).text)
                              and "Notice of recovery to Robin by mail: delivered" in t and t, "the timeline")
        for part in ("Contact ended", "Loss of the", "Recovery of the", "Notice of loss to Robin by text: delivered",
                     "Attempt 1 at"):
            self.assertIn(part, timeline)
        history = viewer.ask("GET", "/history?subject=mill").text
        self.assertIn(outage, history)
        self.assertIn("Nothing was decided", viewer.ask("GET", "/history?subject=quay").text)
        self.assertIn("A day looks like", viewer.ask("GET", "/history?from=yesterday").text)

    def test_z_guessing_is_slowed(self):
        thief = Visitor(self.board_port)
        codes = []
        for _ in range(6):
            codes.append(thief.enter("host", password="not the pass phrase").status)
            if codes[-1] == 429:
                break
        self.assertEqual(codes[:5], [403] * 5)
        answer = thief.enter("host")
        self.assertEqual(answer.status, 429)
        self.assertGreater(int(answer.headers["Retry-After"]), 0)
        self.assertIn("board_login_refused", self.watcher.log_text())
        self.assertNotIn("not the pass phrase", self.watcher.log_text())


if __name__ == "__main__":
    unittest.main(verbosity=2)
