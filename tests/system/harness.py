"""Drives the real binaries on loopback: a daemon with its configuration in a folder of its own,
catchers for mail, web hooks and texts, and check-ins over HTTP. Waits for conditions, never for time
alone. Standard library and Debian's python3-aiosmtpd."""
import email
import email.policy
import http.client
import http.server
import json
import os
import pathlib
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
import time
import urllib.parse

from aiosmtpd.controller import Controller

BIN = pathlib.Path(os.environ["EBBWATCH_BIN_DIR"])
# A sanitizer build on a busy machine is many times slower; limits are for hangs, not for speed.
PATIENCE = 60


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until(condition, what, seconds=PATIENCE):
    """The condition's first true value; fails with `what` when there is none in time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        value = condition()
        if value:
            return value
        time.sleep(0.02)
    raise AssertionError(f"waited {seconds} s in vain for: {what}")


class Catchers:
    """Receives mails, web hook calls and texts, and keeps them in order of arrival."""

    def __init__(self, host="127.0.0.1"):
        self.lock = threading.Lock()
        self.mails, self.hooks, self.texts = [], [], []
        self.smtp_answer = "250 Kept"
        self.http_status = 204
        outer = self

        class Mailbox:
            async def handle_DATA(self, server, session, envelope):
                message = email.message_from_bytes(envelope.content, policy=email.policy.default)
                if outer.smtp_answer.startswith("2"):
                    with outer.lock:
                        outer.mails.append(message)
                return outer.smtp_answer

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
                if 200 <= outer.http_status < 300:
                    with outer.lock:
                        if self.path.startswith("/hook"):
                            outer.hooks.append((dict(self.headers), json.loads(body)))
                        else:
                            outer.texts.append(dict(urllib.parse.parse_qsl(body.decode())))
                self.send_response(outer.http_status)
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *arguments):
                pass

        self.mail_server = Controller(Mailbox(), hostname="127.0.0.1", port=free_port())
        self.mail_server.start()
        self.http_server = http.server.ThreadingHTTPServer((host, 0), Handler)
        self.http_port = self.http_server.server_address[1]
        threading.Thread(target=self.http_server.serve_forever, daemon=True).start()

    def stop(self):
        self.mail_server.stop()
        self.http_server.shutdown()
        self.http_server.server_close()


SETTINGS = """
watcher: {{name: pier, state_dir: {folder}/state, uplink_references: [], uplink_quorum: 0}}
detection: {{on_delay: {on_delay}, off_delay: {off_delay}, min_missed: {min_missed}}}
sites:
{sites}
notifiers:
  - {{id: mail, kind: email, server: "smtp://127.0.0.1:{smtp}", starttls: never, from: "tanks@example.net"}}
  - {{id: hook, kind: webhook, url: "http://127.0.0.1:{http}/hook", signing_key: {{file: hook.key}}}}
  - {{id: text, kind: sms_gateway, url: "http://127.0.0.1:{http}/text", method: POST,
     fields: {{to: "{{phone}}", text: "{{text}}", id: "{{notice}}"}}}}
keyholders:
  - {{id: robin, name: Robin, email: robin@example.net, phone: "+15550100"}}
call_lists:
  - id: everyday
    steps:
      - {{after: 0min, tell: [robin], by: [text]}}
      - {{after: 0min, tell: [robin], by: [mail]}}
      - {{after: 0min, tell: [robin], by: [hook]}}
listen:
  check_in_http: {{address: "127.0.0.1", port: {port}}}
{more}
"""

SITE = """  - id: {id}
    name: Site {id}
    call_list: everyday
    tanks:
      - {{id: {id}-tank, name: Tank {id}, controllers: [{{id: {id}-main, interval: {interval}, supply: mains}}]}}
"""


class Watcher:
    """One daemon with its folder. `sites` are identifiers; each has one tank with one controller."""
    host = "127.0.0.1"
    run_in = ()  # A command in front of the daemon's.

    def __init__(self, catchers, sites, interval="1s", on_delay="2s", off_delay="2s", min_missed=2,
                 more=""):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="ebbwatch-test-"))
        self.port = free_port()
        self.config = self.folder / "ebbwatch.yaml"
        self.write_secret("hook.key", "a key for tests only, of 32 bytes or more")
        self.values = dict(folder=self.folder, on_delay=on_delay, off_delay=off_delay,
                           min_missed=min_missed, smtp=catchers.mail_server.port,
                           http=catchers.http_port, port=self.port, more=more,
                           sites="".join(SITE.format(id=s, interval=interval) for s in sites))
        self.config.write_text(SETTINGS.format(**self.values))
        self.keys = {}
        self.process = None

    def write_secret(self, name, text):
        path = self.folder / name
        path.touch(mode=0o600)
        path.write_text(text)

    def command(self, *arguments, check=True):
        done = subprocess.run([BIN / "ebbwatch", "--config", self.config, *arguments],
                              capture_output=True, text=True, timeout=PATIENCE)
        if check and done.returncode != 0:
            raise AssertionError(f"ebbwatch {arguments} gave {done.returncode}: {done.stderr}")
        return done

    def enrol(self, *controllers):
        for controller in controllers:
            answer = json.loads(self.command("enrol", controller, "--json").stdout)
            self.keys[controller] = answer["key"]

    def arguments(self):
        return [BIN / "ebbwatchd", "--config", self.config]

    def start(self, environment=None):
        with open(self.folder / "daemon.log", "ab") as log:
            self.process = subprocess.Popen([*self.run_in, *self.arguments()], stderr=log, stdin=subprocess.DEVNULL,
                                            env={**os.environ, **(environment or {})})
        wait_until(self.answers, "the daemon to listen")
        return self

    def answers(self):
        if self.process.poll() is not None:
            raise AssertionError(f"the daemon ended with {self.process.returncode}:\n{self.log_text()}")
        try:
            socket.create_connection((self.host, self.port), timeout=1).close()
            with socket.socket(socket.AF_UNIX) as control:
                control.connect(str(self.folder / "state" / "control.sock"))
            return True
        except OSError:
            return False

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def terminate(self):
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=PATIENCE)

    def log_text(self):
        return (self.folder / "daemon.log").read_text(errors="replace")

    def check_in(self, controller, **fields):
        """The HTTP status; 0 when the daemon could not be reached."""
        connection = http.client.HTTPConnection(self.host, self.port, timeout=2)
        try:
            connection.request("POST", "/v1/check-in", json.dumps(fields) if fields else "",
                               {"Authorization": "Bearer " + self.keys[controller],
                                "Content-Type": "application/json"})
            return connection.getresponse().status
        except OSError:
            return 0
        finally:
            connection.close()

    def status(self):
        return json.loads(self.command("status", "--json").stdout)

    def history(self):
        return [json.loads(line) for line in self.command("history", "--json").stdout.splitlines()]

    def secrets(self):
        """Every secret that this watcher was given: the keys of its controllers and its secret files."""
        files = [path for path in self.folder.iterdir() if path.suffix in (".key", ".secret") and path.is_file()]
        texts = [path.read_text().strip() for path in files]
        # A short one is a word that a log may hold by chance.
        return [*self.keys.values(), *(text for text in texts if len(text) >= 10)]

    def told_secrets(self):
        """Where a secret stands although it must not: the log, and all that is kept in the state folder."""
        secrets = [secret.encode() for secret in self.secrets()]
        state = self.folder / "state"
        places = [self.folder / "daemon.log", *(state.rglob("*") if state.is_dir() else [])]
        return [str(path.relative_to(self.folder)) for path in places
                if path.is_file() and any(secret in path.read_bytes() for secret in secrets)]

    def remove(self):
        if self.process and self.process.poll() is None:
            self.kill()
        told = self.told_secrets()
        shutil.rmtree(self.folder, ignore_errors=True)
        if told:
            raise AssertionError(f"a secret stands in {', '.join(told)}")


class CheckInLoop(threading.Thread):
    """Lets controllers check in every `every` seconds until stopped or told to be silent."""

    def __init__(self, watcher, controllers, every):
        super().__init__(daemon=True)
        self.watcher, self.controllers, self.every = watcher, list(controllers), every
        self.silent = set()
        self.ending = threading.Event()
        self.started = time.monotonic()
        self.seq = 0

    def run(self):
        while not self.ending.wait(self.every):
            self.seq += 1
            for controller in self.controllers:
                if controller not in self.silent:
                    self.watcher.check_in(controller, seq=self.seq,
                                          uptime_s=round(time.monotonic() - self.started, 3))

    def stop(self):
        self.ending.set()
        self.join()
