"""Nobody gets past the board's gate: every address of its table (daemon/board/routes.cpp) with every role,
without a form token, with forged ones and by other methods; and what attackers write into addresses."""
import os
import pathlib
import re
import socket
import subprocess
import unittest

from board_test import PASSWORDS, Visitor
from harness import BIN, Catchers, Watcher, free_port

SOURCE = pathlib.Path(os.environ["EBBWATCH_SOURCE_DIR"])
ROLES = ["nobody", "viewer", "keyholder", "host"]
ROUTE = re.compile(r'\{"(\w+)", "([^"]+)", BoardPage::(\w+), Role::(\w+)(?:, Entry::(\w+))?\}')


def table():
    found = ROUTE.findall((SOURCE / "daemon/board/routes.cpp").read_text())
    assert len(found) > 25, found
    return [(method, path, page, role, entry or "session") for method, path, page, role, entry in found]


class BoardSecurityTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.catchers = Catchers()
        cls.port = free_port()
        cls.watcher = Watcher(cls.catchers, ["mill", "quay"], more='  board: {address: "127.0.0.1", port: %d}' % cls.port)
        text = cls.watcher.config.read_text()
        sam = "  - {id: sam, name: Sam, email: sam@example.net}\n"
        cls.watcher.config.write_text(text.replace("call_lists:\n", sam + "call_lists:\n"))
        cls.watcher.enrol("mill-main", "quay-main")
        cls.watcher.start()
        for role, password in PASSWORDS.items():
            done = subprocess.run([BIN / "ebbwatch", "--config", cls.watcher.config, "board-password", role],
                                  input=password + "\n", text=True, capture_output=True, timeout=60)
            assert done.returncode == 0, done.stderr
        cls.visitors = {"nobody": Visitor(cls.port)}
        for role, person in ("viewer", "Robin"), ("keyholder", "Robin"), ("host", "Kim"):
            cls.visitors[role] = cls.inside(role, person)

    @classmethod
    def tearDownClass(cls):
        code = cls.watcher.terminate()
        cls.watcher.remove()
        cls.catchers.stop()
        assert code == 0, code

    @classmethod
    def inside(cls, role, person):
        visitor = Visitor(cls.port)
        answer = visitor.enter(role, person=person)
        assert answer.status == 303, answer.text
        visitor.form_token = Visitor.token(visitor.ask("GET", "/").text)
        return visitor

    @staticmethod
    def concrete(path):
        if path.startswith("/site/") or path.startswith("/v1/sites/"):
            return path.replace("*", "mill")
        return path.replace("*", "0" * 64 if path.startswith("/wall/") else "pier-1")

    def test_every_address_with_every_role(self):
        for method, path, page, least, entry in table():
            if page in ("events", "leave"):
                continue  # A stream does not end; leaving ends the session.
            for role, visitor in self.visitors.items():
                with self.subTest(method=method, path=path, role=role):
                    form = {} if method == "POST" else None
                    answer = visitor.ask(method, self.concrete(path), form)
                    if entry == "key_in_address":
                        self.assertEqual(answer.status, 404)
                    elif least == "nobody" and method == "GET":
                        self.assertEqual(answer.status, 200)
                    elif ROLES.index(role) >= ROLES.index(least) and method == "GET":
                        self.assertIn(answer.status, (200, 404))
                    elif role == "nobody" and entry == "key_or_session":
                        self.assertEqual(answer.status, 401)
                    elif role == "nobody" and method == "GET":
                        self.assertEqual(answer.status, 303)
                        self.assertTrue(answer.headers["Location"].startswith("/login"))
                    elif role == "nobody" and page != "enter":
                        self.assertEqual((answer.status, answer.headers["Location"]), (303, "/login"))
                    else:
                        self.assertEqual(answer.status, 403)  # Too small a role, or no form token.
                    self.assertNotIn("access-control-allow-origin", answer.headers)

    def test_no_write_without_the_sessions_own_form_token(self):
        host, keyholder = self.visitors["host"], self.visitors["keyholder"]
        before = self.watcher.history()
        for method, path, page, _, _ in table():
            if method != "POST":
                continue
            address = self.concrete(path)
            for form in ({}, {"form_token": ""}, {"form_token": keyholder.form_token}, {"form_token": "x" * 43}):
                self.assertEqual(host.ask("POST", address, form).status, 403, path)
            in_query = address + "?form_token=" + host.form_token
            self.assertEqual(host.ask("POST", in_query, {}).status, 403, path)
            for other in ("GET", "PUT", "DELETE", "PATCH"):
                if other == "GET" and page == "enter":
                    continue
                self.assertEqual(host.ask(other, address).status, 405, (other, path))
        self.assertEqual(self.watcher.history(), before)

    def test_a_keyholder_of_other_sites_cannot_act_here(self):
        sam = self.inside("keyholder", "Sam")
        form = {"form_token": sam.form_token, "subject": "site/mill", "for": "1h", "reason": "x", "text": "x"}
        self.assertEqual(sam.ask("POST", "/site/mill/shelve", form).status, 403)
        self.assertEqual(sam.ask("POST", "/site/mill/unshelve", form).status, 403)
        self.assertEqual([s for s in self.watcher.history() if s["decision"] == "shelved"], [])

    def test_no_address_climbs_out(self):
        for path in ("/../etc/passwd", "/..%2f..%2fetc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd",
                     "/board.css/../../etc/passwd", "/site/../../etc/passwd", "/site/%2e%2e", "/wall/../v1/sites",
                     "/v1/sites/../../metrics", "/outage/pier-1%00", "/site/mill;x=1", "/site/" + "a" * 4000,
                     "/wall/" + "%" * 50, "/.git/config", "/ebbwatch.yaml"):
            with socket.create_connection(("127.0.0.1", self.port), timeout=10) as line:
                cookie = "ebbwatch-session=" + self.visitors["host"].cookies["ebbwatch-session"]
                line.sendall(f"GET {path} HTTP/1.1\r\nHost: x\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n".encode())
                answer = b""
                while piece := line.recv(65536):
                    answer += piece
            status = int(answer.split(b" ", 2)[1])
            self.assertIn(status, (400, 404), path)
            self.assertNotIn(b"root:", answer)

    def test_no_answer_takes_a_line_end_or_another_host_from_the_question(self):
        stranger = Visitor(self.port)
        for wanted in ("/history%0d%0aSet-Cookie:%20a=b", "//example.net/", "https://example.net/", "/%5cexample.net",
                       "/history%0aX:%20y", "javascript:alert(1)"):
            answer = stranger.ask("GET", "/login?next=" + wanted)
            self.assertNotIn('name="next" value="//', answer.text)
            entering = stranger.ask("POST", "/login", {
                "form_token": Visitor.token(answer.text), "person": "Robin", "role": "viewer",
                "next": wanted.replace("%0d", "\r").replace("%0a", "\n").replace("%20", " ").replace("%5c", "\\"),
                "password": PASSWORDS["viewer"]})
            self.assertEqual((entering.status, entering.headers["Location"]), (303, "/"), wanted)
            self.assertNotIn("a", stranger.cookies)
        to_login = stranger.ask("GET", "/history?subject=%0d%0aSet-Cookie:%20a=b", headers={"Cookie": ""})
        self.assertEqual(to_login.status, 303)
        self.assertTrue(to_login.headers["Location"].startswith("/login?next=/history"))
        self.assertNotIn("a", stranger.cookies)

    def test_a_person_is_no_header_and_no_log_line(self):
        stranger = Visitor(self.port)
        for person in ("Robin\r\nSet-Cookie: a=b", "Robin\nforged log line", "\x1b[31mred"):
            answer = stranger.enter("viewer", person=person)
            self.assertEqual(answer.status, 400, person)
        self.assertNotIn("\nforged log line", self.watcher.log_text())


if __name__ == "__main__":
    unittest.main(verbosity=2)
