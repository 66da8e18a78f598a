#!/usr/bin/python3
"""Catches what the demonstration sends: a mail server, a web hook and a text-message gateway on
loopback. Each message is printed as it arrived. Checks the web hook's signature with code of its own
(RFC 9421, hmac-sha256; RFC 9530)."""
import argparse
import base64
import email
import email.policy
import hashlib
import hmac
import http.server
import json
import re
import sys
import textwrap
import threading
import urllib.parse

from aiosmtpd.controller import Controller

LOCK = threading.Lock()


def show(title, body):
    """One message in a frame, in one piece and as it arrived; only longer lines are broken."""
    lines = ["", f"--- {title} ".ljust(78, "-")]
    for line in body.splitlines():
        lines += [line] if len(line) <= 78 else textwrap.wrap(line, 78)
    lines += ["-" * 78, ""]
    with LOCK:
        sys.stdout.write("\n".join(lines) + "\n")
        sys.stdout.flush()


class Mailbox:
    async def handle_DATA(self, server, session, envelope):
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        body = message.get_body(preferencelist=("plain",)).get_content()
        show(f"MAIL to {', '.join(envelope.rcpt_tos)}", f"Subject: {message['Subject']}\n\n{body}")
        return "250 Kept"


def signature_is_right(handler, body, key):
    """Recomputes the digest and the signature base from the request itself."""
    digest = "sha-256=:" + base64.b64encode(hashlib.sha256(body).digest()).decode() + ":"
    if handler.headers.get("Content-Digest") != digest:
        return False
    given = handler.headers.get("Signature-Input", "")
    match = re.fullmatch(r'([a-z0-9-]+)=(\(([^)]*)\).*)', given)
    if not match:
        return False
    label, parameters, names = match.group(1), match.group(2), match.group(3)
    values = {"@method": handler.command, "@path": handler.path.split("?")[0],
              "@authority": handler.headers.get("Host", "").lower(),
              "@target-uri": f"http://{handler.headers.get('Host', '')}{handler.path}"}
    lines = []
    for name in re.findall(r'"([^"]+)"', names):
        lines.append(f'"{name}": {values.get(name, handler.headers.get(name, ""))}')
    lines.append(f'"@signature-params": {parameters}')
    expected = base64.b64encode(hmac.new(key, "\n".join(lines).encode(), hashlib.sha256).digest())
    return handler.headers.get("Signature", "") == f"{label}=:{expected.decode()}:"


def make_handler(key):
    class Handler(http.server.BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_POST(self):
            body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
            status = 204
            if self.path.startswith("/tanks"):
                event = json.loads(body)
                good = signature_is_right(self, body, key)
                data = event["data"]
                show("WEB HOOK call, signature " + ("verified" if good else "WRONG"),
                     f"type {event['type']}, subject {event['subject']}\n"
                     f"decision {data['decision']}, scope {data['scope']}, outage {data['outage']}\n"
                     f"cause {data['cause']} (confidence {data['confidence']}), at {data['at']}")
                status = 204 if good else 401
            else:
                fields = dict(urllib.parse.parse_qsl(body.decode()))
                show(f"TEXT MESSAGE to {fields.get('to')} ({len(fields.get('text', ''))} characters)",
                     fields.get("text", ""))
                status = 202
            self.send_response(status)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *arguments):
            pass

    return Handler


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smtp-port", type=int, required=True)
    parser.add_argument("--http-port", type=int, required=True)
    parser.add_argument("--key-file", required=True, help="the web hook's signing key")
    arguments = parser.parse_args()
    with open(arguments.key_file, "rb") as file:
        key = file.read().removesuffix(b"\n")
    mail = Controller(Mailbox(), hostname="127.0.0.1", port=arguments.smtp_port)
    mail.start()
    server = http.server.ThreadingHTTPServer(("127.0.0.1", arguments.http_port), make_handler(key))
    print("ready", file=sys.stderr, flush=True)
    server.serve_forever()


if __name__ == "__main__":
    main()
