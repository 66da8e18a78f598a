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
        text = cls.watcher.config.read_text()
        sam = "  - {id: sam, name: Sam, email: sam@example.net}\n"
        cls.watcher.config.write_text(text.replace("call_lists:\n", sam + "call_lists:\n"))
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
    def set_password(cls, role, password, *more):
        import subprocess
        from harness import BIN
        done = subprocess.run([BIN / "ebbwatch", "--config", cls.watcher.config, "board-password", role, *more],
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
        self.assertIn("Nothing in the record", viewer.ask("GET", "/history?subject=quay").text)
        self.assertIn("A day looks like", viewer.ask("GET", "/history?from=yesterday").text)

    def outage_of(self, site):
        return wait_until(lambda: next((row["outage"] for row in reversed(self.watcher.history())
                                        if row["decision"] == "loss" and row["subject"].startswith(site)), None),
                          f"a loss of {site}")

    def test_notes_and_marks_stay_in_the_record(self):
        keyholder, host = self.inside("keyholder"), self.inside("host")
        self.loop.silent.add("quay-main")
        outage = self.outage_of("quay")
        self.loop.silent.clear()
        wait_until(lambda: self.contact("quay") == "in_contact", "contact again")
        page = keyholder.ask("GET", "/outage/" + outage).text
        act, token = f"/outage/{outage}", keyholder.token(page)
        self.assertIn(act + "/note", page)
        self.assertNotIn(act + "/mark", page)
        note = "Breaker <b>off</b>\nreset & heater on"
        self.assertEqual(keyholder.ask("POST", act + "/note", {"form_token": token, "text": note}).status, 303)
        self.assertEqual(keyholder.ask("POST", act + "/note", {"form_token": token, "text": " \n"}).status, 400)
        self.assertEqual(keyholder.ask("POST", act + "/note", {"form_token": token, "text": "x" * 2001}).status, 400)
        self.assertEqual(keyholder.ask("POST", act + "/mark", {"form_token": token, "false": "yes"}).status, 403)
        self.assertEqual(keyholder.ask("POST", "/outage/pier-999/note", {"form_token": token, "text": "x"}).status, 404)
        page = host.ask("GET", "/outage/" + outage).text
        self.assertIn("Note by Robin", page)
        self.assertIn("Breaker &lt;b&gt;off&lt;/b&gt;<br>reset &amp; heater on", page)
        token = host.token(page)
        for answer, shown in (("yes", True), ("no", False), ("yes", True)):
            self.assertEqual(host.ask("POST", act + "/mark", {"form_token": token, "false": answer}).status, 303)
            self.assertEqual("counts against the alarms" in host.ask("GET", act).text, shown)
        kinds = [row["decision"] for row in self.watcher.history() if row.get("outage") == outage]
        self.assertEqual(kinds[-4:], ["note", "marked_false", "marked_true", "marked_false"])
        found = host.ask("GET", "/history?kind=acts&words=reset+%26+HEATER").text
        self.assertIn("Robin: Breaker", found)
        self.assertNotIn(">Loss<", found)
        performance = host.ask("GET", "/performance").text
        self.assertRegex(performance, r"Marked as false by people</th><td [^>]*>1 of \d")

    def test_strips_on_the_site_page_and_on_the_command_line(self):
        wait_until(lambda: self.watcher.check_in("mill-main", readings={"temperature_c": 25.5}) == 204, "a reading")
        page = wait_until(lambda: (p := self.inside("viewer").ask("GET", "/site/mill").text)
                          and "Water, °C" in p and p, "the strip, once the group of check-ins is stored")
        self.assertIn("Spacing of the check-ins of mill-main", page)
        self.assertIn("The same as a table", page)
        self.assertIn("strips=month", page)
        drawn = self.watcher.command("history", "--chart", "--subject", "mill-tank").stdout
        self.assertIn("<svg xmlns", drawn)
        self.assertIn("Water, °C", drawn)
        self.assertEqual(self.watcher.command("history", "--chart", check=False).returncode, 2)

    def test_shelving_on_the_board(self):
        keyholder, viewer = self.inside("keyholder"), self.inside("viewer")
        page = keyholder.ask("GET", "/site/quay").text
        form = {"form_token": keyholder.token(page), "subject": "tank/quay-tank", "for": "1h", "reason": "water change"}
        self.assertNotIn("/site/quay/shelve", viewer.ask("GET", "/site/quay").text)
        self.assertEqual(viewer.ask("POST", "/site/quay/shelve", form).status, 403)
        for wrong, status in ({"reason": ""}, 400), ({"reason": "x" * 201}, 400), ({"for": "31d"}, 400), (
                {"for": "0s"}, 400), ({"for": ""}, 400), ({"until": "2020-01-01T00:00"}, 400), (
                {"subject": "tank/mill-tank"}, 404), ({"subject": "quay-tank"}, 404):
            answer = keyholder.ask("POST", "/site/quay/shelve", {**form, **wrong})
            self.assertEqual(answer.status, status, wrong)
        self.assertEqual(keyholder.ask("POST", "/site/quay/shelve", form).status, 303)
        shelf = next(s for s in self.watcher.status()["sites"] if s["id"] == "quay")["tanks"][0]["shelf"]
        self.assertEqual((shelf["by"], shelf["reason"]), ("robin", "water change"))
        page = viewer.ask("GET", "/site/quay").text
        self.assertIn("by Robin: water change", page)
        self.assertNotIn("Take off the shelf", page)
        end = {"form_token": form["form_token"], "subject": "tank/quay-tank"}
        self.assertEqual(keyholder.ask("POST", "/site/mill/unshelve", end).status, 409)
        self.assertEqual(keyholder.ask("POST", "/site/quay/unshelve", end).status, 303)
        self.assertEqual(keyholder.ask("POST", "/site/quay/unshelve", end).status, 409)
        self.assertNotIn("water change", viewer.ask("GET", "/site/quay").text)

    def test_a_host_runs_a_drill(self):
        host = self.inside("host")
        token = host.token(host.ask("GET", "/site/mill").text)
        self.assertIn("Run a drill", host.ask("GET", "/drills").text)
        wait_until(lambda: host.ask("POST", "/drill", {"form_token": token, "site": "mill"}).status == 303,
                   "a drill, which waits while an outage runs")
        drill = wait_until(lambda: self.watcher.status().get("drill"), "the drill")
        page = host.ask("GET", "/outage/" + drill["outage"]).text
        self.assertIn("Drill at Site mill", page)
        self.assertIn("Drill begun by Robin", page)
        page = wait_until(lambda: (p := host.ask("GET", "/drills").text).count("never") < 3 and p, "proofs on the page")
        for part in ("Ways to people", drill["outage"], "waits for answers"):
            self.assertIn(part, page)
        keyholder = self.inside("keyholder")
        token = keyholder.token(keyholder.ask("GET", "/").text)
        self.assertEqual(keyholder.ask("POST", "/drill", {"form_token": token, "site": "mill"}).status, 403)

    def test_a_keyholder_acts_at_own_sites_only_and_under_the_own_password(self):
        stranger = Visitor(self.board_port)
        answer = stranger.enter("keyholder", person="Somebody")
        self.assertEqual(answer.status, 403)
        self.assertIn("No keyholder is called so", answer.text)
        sam = Visitor(self.board_port)
        self.assertEqual(sam.enter("keyholder", person="Sam").status, 303)
        page = sam.ask("GET", "/site/mill").text
        self.assertNotIn("/site/mill/shelve", page)
        form = {"form_token": sam.token(page), "subject": "site/mill", "for": "1h", "reason": "x"}
        self.assertEqual(sam.ask("POST", "/site/mill/shelve", form).status, 403)
        self.set_password("keyholder", "Sam's own pass phrase", "--person", "sam")
        self.assertEqual(sam.ask("GET", "/").status, 303)
        self.assertEqual(sam.enter("keyholder", person="Sam").status, 403)
        self.assertEqual(sam.enter("keyholder", person="sam", password="Sam's own pass phrase").status, 303)
        self.inside("keyholder")

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
