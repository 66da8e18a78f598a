#!/usr/bin/python3
"""An HTTP server on loopback that behaves as the first word of the path says, for tests of the
webhook and SMS gateway notifiers.

Prints "listening PORT" once it accepts connections. Every request becomes one line of JSON in the
file named by --log. With --key-file it checks RFC 9421 signatures (hmac-sha256) and RFC 9530 digests
with its own code: "verified" is true, or "why_not" says what is wrong.
"""
import argparse
import base64
import hashlib
import hmac
import http.server
import json
import re
import ssl
import threading
import time
import urllib.parse

FOREVER_S = 3600
SIGNATURE_TOLERANCE_S = 300


def component(request, name):
    path, _, query = request.path.partition("?")
    if name == "@method":
        return request.command
    if name == "@authority":
        return request.headers["Host"].lower()
    if name == "@path":
        return path
    if name == "@query":
        return "?" + query
    values = request.headers.get_all(name)
    return None if values is None else ", ".join(value.strip() for value in values)


def why_not_verified(request, body, key):
    digest = base64.b64encode(hashlib.sha256(body).digest()).decode()
    if request.headers["Content-Digest"] != f"sha-256=:{digest}:":
        return "the digest does not fit the body"
    found = re.fullmatch(r"([a-z*][a-z0-9_.*-]*)=(\(([^)]*)\)(.*))", request.headers["Signature-Input"] or "")
    if not found:
        return "no Signature-Input"
    label, parameters, names, rest = found.groups()
    covered = re.findall(r'"([^"]+)"', names)
    for needed in ("@method", "@authority", "@path", "content-type", "content-digest"):
        if needed not in covered:
            return needed + " is not covered"
    lines = []
    for name in covered:
        value = component(request, name)
        if value is None:
            return name + " is covered but missing"
        lines.append(f'"{name}": {value}')
    base = "\n".join(lines + [f'"@signature-params": {parameters}'])
    wanted = base64.b64encode(hmac.new(key, base.encode(), hashlib.sha256).digest()).decode()
    if request.headers["Signature"] != f"{label}=:{wanted}:":
        return "the signature does not fit"
    created = re.search(r";created=(\d+)", rest)
    if not created or abs(time.time() - int(created[1])) > SIGNATURE_TOLERANCE_S:
        return "created is missing or too far away"
    if not re.search(r';keyid="[^"]+"', rest) or not re.search(r';nonce="[^"]+"', rest):
        return "keyid or nonce is missing"
    return ""


class Receiver(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    lock = threading.Lock()

    def do_GET(self):
        self.receive(b"")

    def do_POST(self):
        self.receive(self.rfile.read(int(self.headers.get("Content-Length", 0))))

    def receive(self, body):
        entry = {"method": self.command, "path": self.path.partition("?")[0],
                 "query": urllib.parse.parse_qs(self.path.partition("?")[2], keep_blank_values=True),
                 "headers": {k.lower(): v for k, v in self.headers.items()},
                 "body": body.decode("utf-8", "replace")}
        if self.server.key is not None:
            entry["why_not"] = why_not_verified(self, body, self.server.key)
            entry["verified"] = not entry["why_not"]
        with self.lock, open(self.server.log, "a", encoding="utf-8") as log:
            log.write(json.dumps(entry) + "\n")
        word = self.path.strip("/").partition("?")[0].split("/")
        getattr(self, "answer_" + word[0], self.answer_unknown)(*word[1:])

    def answer(self, status, text="", **headers):
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name.replace("_", "-"), value)
        self.send_header("Content-Length", str(len(text.encode())))
        self.end_headers()
        self.wfile.write(text.encode())

    def answer_unknown(self, *_):
        self.answer(404, "no such behaviour")

    def answer_accept(self, *_):
        self.answer(200, "taken")

    def answer_refuse(self, *_):
        self.answer(403, "not you")

    def answer_later(self, *_):
        self.answer(503, "too busy", Retry_After="120")

    def answer_status(self, status, *_):
        self.answer(int(status), "as you wish")

    def answer_redirect(self, *_):
        self.answer(302, "over there", Location="/accept")

    def answer_echo(self, *_):
        self.answer(400, "what is " + self.path + " " + urllib.parse.unquote(self.path))

    def answer_say(self, *words):
        self.answer(200, urllib.parse.unquote(" ".join(words)))

    def answer_slow(self, *_):
        for byte in b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\nOK":
            self.wfile.write(bytes([byte]))
            self.wfile.flush()
            time.sleep(0.02)

    def answer_hang(self, *_):
        time.sleep(FOREVER_S)

    def answer_hang_up(self, *_):
        self.close_connection = True

    def answer_half(self, *_):
        self.wfile.write(b"HTTP/1.1 2")
        self.close_connection = True

    def answer_endless(self, *_):
        self.send_response(200)
        self.end_headers()
        try:
            while True:
                self.wfile.write(b"more " * 1000)
        except OSError:
            self.close_connection = True

    def answer_endless_header(self, *_):
        self.wfile.write(b"HTTP/1.1 200 OK\r\n")
        try:
            while True:
                self.wfile.write(b"X-More: more\r\n" * 100)
        except OSError:
            self.close_connection = True

    def log_message(self, *_):
        pass


parser = argparse.ArgumentParser(description=__doc__)
parser.add_argument("--log", required=True)
parser.add_argument("--key-file")
parser.add_argument("--certificate")
parser.add_argument("--key")
options = parser.parse_args()
server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
server.daemon_threads = True
server.log = options.log
server.key = open(options.key_file, "rb").read().rstrip(b"\n") if options.key_file else None
if options.certificate:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(options.certificate, options.key)
    server.socket = context.wrap_socket(server.socket, server_side=True)
print("listening", server.server_port, flush=True)
server.serve_forever()
