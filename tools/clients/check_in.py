#!/usr/bin/env python3
"""Check-ins with Python's standard library, over HTTP or as signed datagrams.

  check_in.py --url http://watch.example.net:8460 --key-file ebbwatch.key power=mains
  check_in.py --udp watch.example.net:8460 --controller lagoon-main --key-file ebbwatch.key power=mains
  … --every 60     goes on, each minute

Exit status 0: taken; 1: not taken, with the reason."""
import argparse
import hashlib
import hmac
import json
import pathlib
import socket
import sys
import time
import urllib.error
import urllib.request

STARTED = time.monotonic()


def over_http(url, key, fields):
    """None when it was taken, else why not."""
    request = urllib.request.Request(url.rstrip("/") + "/v1/check-in", json.dumps(fields).encode(),
                                     {"Authorization": "Bearer " + key, "Content-Type": "application/json"})
    try:
        urllib.request.urlopen(request, timeout=20).close()
        return None
    except urllib.error.HTTPError as refusal:
        return f"{refusal.code}: {refusal.read().decode(errors='replace')}"
    except OSError as failure:
        return str(failure)


def sealed(key, text):
    return f"{text} {hmac.new(key.encode(), text.encode(), hashlib.sha256).hexdigest()[:32]}".encode()


def by_datagram(place, controller, key, seq, fields, tries=3):
    """Sends it until it is answered: an answer is a proof that it was taken."""
    host, _, port = place.rpartition(":")
    family, kind, protocol, _, address = socket.getaddrinfo(host.strip("[]"), int(port), type=socket.SOCK_DGRAM)[0]
    with socket.socket(family, kind, protocol) as sender:
        sender.settimeout(2)
        sender.connect(address)
        pairs = ",".join(f"{name}={value}" for name, value in fields.items()) or "-"
        for _ in range(tries):
            try:
                sender.send(sealed(key, f"EBB1 {controller} {seq} {time.time_ns() // 1_000_000} - {pairs}"))
                answer = sender.recv(600)
            except OSError:
                continue
            text, _, _ = answer.decode(errors="replace").rpartition(" ")
            if text.startswith("EBB1 ok ") and hmac.compare_digest(sealed(key, text), answer):
                return None
    return "no answer: the key, this machine's clock or the address is wrong, or nothing got through"


def value_of(text):
    try:
        return json.loads(text)
    except ValueError:
        return text


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--url")
    way.add_argument("--udp", metavar="HOST:PORT")
    parser.add_argument("--controller", help="needed with --udp")
    parser.add_argument("--key-file", required=True, type=pathlib.Path)
    parser.add_argument("--every", type=float, metavar="SECONDS")
    parser.add_argument("fields", nargs="*", metavar="name=value")
    given = parser.parse_args()
    if given.udp and not given.controller:
        parser.error("--udp needs --controller")
    key = given.key_file.read_text().strip()
    fields = dict(field.split("=", 1) for field in given.fields)
    seq = 0
    while True:
        seq += 1
        now = {"uptime_s": round(time.monotonic() - STARTED, 1), **fields}
        if given.url:
            why = over_http(given.url, key, {"seq": seq, **{name: value_of(str(v)) for name, v in now.items()}})
        else:
            why = by_datagram(given.udp, given.controller, key, seq, now)
        if why:
            print("not taken, " + why, file=sys.stderr)
        if not given.every:
            return 1 if why else 0
        time.sleep(given.every)


if __name__ == "__main__":
    sys.exit(main())
