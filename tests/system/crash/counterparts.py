"""Servers that take notices and misbehave by a script drawn from a seed: they refuse for now or for good,
are slow, or take a notice and hang up without a word. Each keeps a book of what it took."""
import asyncio
import email
import email.policy
import http.server
import json
import random
import re
import threading
import time
import urllib.parse
import urllib.request

from aiosmtpd.controller import Controller

from harness import free_port

# How often each manner is drawn while the test troubles them. "torn": taken, but the answer is lost.
MANNERS = {"take": 66, "later": 15, "torn": 7, "slow": 8, "never": 4}


class Book:
    """What arrived: one entry a copy."""

    def __init__(self, seed):
        self.lock, self.entries, self.troubled = threading.Lock(), [], True
        self.random = random.Random(seed)
        self.came = threading.Event()
        self.watchers = []

    def manner(self):
        with self.lock:
            if not self.troubled:
                return "take"
            return self.random.choices(list(MANNERS), MANNERS.values())[0]

    def take(self, way, notice, kind, outage, keyholder, clean, text, came):
        """`came`: when it began to arrive; the daemon may have been killed since."""
        entry = {"came": came, "at": time.time(), "way": way, "notice": notice, "kind": kind, "outage": outage,
                 "keyholder": keyholder, "clean": clean, "text": text}
        with self.lock:
            self.entries.append(entry)
        self.came.set()
        for tell in self.watchers:
            tell(entry)
        return entry

    def all(self):
        with self.lock:
            return list(self.entries)


class MailServer:
    def __init__(self, book):
        outer_book = book

        class Mailbox:
            async def handle_RCPT(self, server, session, envelope, address, options):
                envelope.manner = outer_book.manner()
                if envelope.manner == "never":
                    return "550 No such mailbox"
                envelope.rcpt_tos.append(address)
                return "250 OK"

            async def handle_DATA(self, server, session, envelope):
                manner, came = envelope.manner, time.time()
                if manner == "later":
                    return "451 Try later"
                if manner == "slow":
                    await asyncio.sleep(0.3)
                mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
                text = mail.get_content()
                notice = re.match(r"<([0-9a-f-]+)@", mail["Message-ID"])[1]
                outage = re.search(r"Outage (\S+),", text)
                who = envelope.rcpt_tos[0].split("@")[0]
                outer_book.take("mail", notice, "", outage[1] if outage else "", who, manner != "torn", text,
                                came)
                if manner == "torn":
                    server.transport.abort()
                return "250 Kept"

        self.server = Controller(Mailbox(), hostname="127.0.0.1", port=free_port())
        self.server.start()
        self.port = self.server.port

    def stop(self):
        self.server.stop()


class HttpServer:
    """A web hook, and a gateway in Kannel's manner that calls back with reports."""

    def __init__(self, book):
        outer = self
        self.book, self.ending = book, threading.Event()
        self.reports = []

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
                event = json.loads(body)
                keyholder = urllib.parse.parse_qs(urllib.parse.urlsplit(self.path).query).get("who", ["?"])[0]
                self.serve("hook", event["id"], event["type"], event["data"].get("outage", ""), keyholder,
                           {"take": 204, "later": 503, "never": 400}, event["data"].get("text", ""))

            def do_GET(self):
                fields = dict(urllib.parse.parse_qsl(urllib.parse.urlsplit(self.path).query))
                entry = self.serve("text", fields["id"], "", "", fields["to"], {"take": 202, "later": 503, "never": 403},
                                   fields["text"], "0: Accepted for delivery")
                if entry:
                    outer.reports.append((fields["dlr-url"], entry))

            def serve(self, way, notice, kind, outage, who, statuses, text, accepted=""):
                manner, came = outer.book.manner(), time.time()
                if manner == "slow":
                    time.sleep(0.3)
                entry = None
                if manner not in ("later", "never"):
                    entry = outer.book.take(way, notice, kind, outage, who, manner != "torn", text, came)
                if manner == "torn":
                    self.close_connection = True
                    self.connection.close()
                    return entry
                answer = accepted.encode() if entry else b""
                self.send_response(statuses.get(manner, statuses["take"]))
                self.send_header("Content-Length", str(len(answer)))
                self.end_headers()
                self.wfile.write(answer)
                return entry

            def log_message(self, *arguments):
                pass

            def handle(self):
                try:
                    super().handle()
                except (OSError, ValueError):
                    pass  # The daemon was killed, or we hung up.

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        self.reporter = threading.Thread(target=self.report, daemon=True)
        self.reporter.start()
        self.reported = {"arrived": 0, "failed": 0}

    def report(self):
        """Most texts arrive; some are reported as failed; each report is said until it is heard."""
        chance = random.Random(self.book.random.random())
        waiting = []
        while not self.ending.wait(0.1):
            while self.reports:
                url, entry = self.reports.pop()
                failed = self.book.troubled and chance.random() < 0.1
                waiting.append((time.monotonic() + chance.uniform(0.0, 1.5), url, "2" if failed else "1"))
            for one in [one for one in waiting if one[0] <= time.monotonic()]:
                waiting.remove(one)
                try:
                    urllib.request.urlopen(one[1].replace("%d", one[2]), timeout=5).close()
                    self.reported["failed" if one[2] == "2" else "arrived"] += 1
                except OSError:  # The daemon is down, or says 503: a gateway tries again.
                    waiting.append((time.monotonic() + 0.5, one[1], one[2]))
        self.unheard = len(waiting)

    def stop(self):
        self.ending.set()
        self.reporter.join()
        self.server.shutdown()
        self.server.server_close()
