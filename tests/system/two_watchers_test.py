"""A controller that checks in to two watchers by the lines that `ebbwatch enrol` prints, run as they stand;
and one that can call only one of them and is heard by both, because its watcher passes on what it heard."""
import csv
import io
import json
import os
import re
import stat
import subprocess
import time

from harness import Catchers, CheckInLoop, free_port, wait_until
from witness_world import Together

# Debian has it in a package of its own; this is enough of it for the printed lines.
NC = """#!/usr/bin/python3
import socket, sys
host, port = sys.argv[-2:]
with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
    out.settimeout(10)
    out.sendto(sys.stdin.buffer.read(), (host, int(port)))
    print(out.recv(600).decode())
"""


def run_lines(watcher, lines):
    """Runs them as a shell would, with our `nc`; gives what they print."""
    tools = watcher.folder / "tools"
    tools.mkdir(exist_ok=True)
    nc = tools / "nc"
    nc.write_text(NC)
    nc.chmod(nc.stat().st_mode | stat.S_IXUSR)
    environment = {**os.environ, "PATH": f"{tools}:{os.environ['PATH']}"}
    done = subprocess.run(["sh", "-e"], input=lines, text=True, capture_output=True, timeout=60,
                          env=environment)
    assert done.returncode == 0, (lines, done.stdout, done.stderr)
    return done.stdout


def part(printed, title):
    """The lines below the title, up to the next empty one."""
    found = re.search(re.escape(title) + r"[^\n]*\n((?:  .*\n)+)", printed)
    assert found, (title, printed)
    return found.group(1)


def last_heard(watcher, controller):
    return watcher.controller(controller)["last_heard"]


def add_udp(together):
    for watcher in together.watchers.values():
        watcher.udp_port = free_port()
    for watcher in together.watchers.values():
        other = next(o for o in together.watchers.values() if o is not watcher)
        settings = watcher.config.read_text().replace(
            "key: {file: witness.key}}",
            f'key: {{file: witness.key}}, check_in_udp: "127.0.0.1:{other.udp_port}"}}')
        watcher.config.write_text(
            settings + f'  check_in_udp: {{address: "127.0.0.1", port: {watcher.udp_port}}}\n')


def printed_lines_reach_both(together):
    harbour, breakwater = together["harbour"], together["breakwater"]
    key = json.loads(breakwater.command("enrol", "elm-main", "--json").stdout)["key"]
    hint = harbour.command("enrol", "elm-main").stdout
    assert "ebbwatch enrol elm-main --also breakwater=KEY" in hint, hint
    printed = harbour.command("enrol", "elm-main", "--also", "breakwater=" + key).stdout
    both = printed[printed.index("To harbour and breakwater"):]
    for title, by in (("To harbour and breakwater", "web"), ("From a crontab", "crontab"),
                      ("By datagram (UDP)", "datagram")):
        before = {w.name: last_heard(w, "elm-main") for w in together.watchers.values()}
        lines = part(both, title)
        if by == "crontab":
            lines = re.sub(r"^  \* \* \* \* \*  ", "", lines, flags=re.MULTILINE)
        out = run_lines(harbour, lines)
        assert by != "datagram" or out.count("EBB1 ok ") == 2, out
        for watcher in together.watchers.values():
            wait_until(lambda: last_heard(watcher, "elm-main") != before[watcher.name],
                       f"{watcher.name} to hear elm by {by}")
    told = json.loads(harbour.command("enrol", "elm-main", "--json", "--also",
                                      "breakwater=" + key).stdout)
    also = told["also"][0]
    assert (also["watcher"], also["key"]) == ("breakwater", key), told
    assert also["check_in_url"] == f"http://127.0.0.1:{breakwater.port}/v1/check-in", told
    print("  the printed lines reach both watchers, by HTTP, crontab and datagram")


def mistakes_are_named(together):
    harbour = together["harbour"]
    keys_before = harbour.command("enrol", "elm-main", "--json").stdout
    for wrong, said in (("brekwater=x", "Did you mean breakwater?"), ("breakwater=secret", "no key")):
        done = harbour.command("enrol", "elm-main", "--also", wrong, check=False)
        assert done.returncode == 2 and said in done.stderr, done
    harbour.keys["elm-main"] = json.loads(keys_before)["key"]
    assert harbour.check_in("elm-main") == 204  # No key was changed by what was refused.
    print("  a wrong --also is named and changes nothing")


def heard_through_the_other(together):
    """elm and oak call only breakwater, which passes on what it heard."""
    harbour, breakwater = together["harbour"], together["breakwater"]
    breakwater.enrol("elm-main", "oak-main")
    loop = CheckInLoop(breakwater, ["elm-main", "oak-main"], 0.5)
    loop.start()
    for controller in ("elm-main", "oak-main"):
        wait_until(lambda: harbour.controller(controller).get("heard_through") == "breakwater",
                   f"harbour to hear {controller} through breakwater")
    assert "heard through the witness breakwater" in harbour.command("status").stdout
    assert "heard_through" not in breakwater.controller("oak-main")
    wait_until(lambda: trace_of(harbour).get(("breakwater", "oak-main"), 0) >= 2,
               "what was passed on to stand in the trace as heard by breakwater")
    assert ("harbour", "oak-main") not in trace_of(harbour), trace_of(harbour)
    # Passed on once only: breakwater itself has nothing in its trace that came from harbour.
    assert {w for w, _ in trace_of(breakwater)} == {"breakwater"}, trace_of(breakwater)
    print("  what the other watcher hears is passed on with a mark, and not passed on again")
    return loop


def what_is_lost_is_lost(together, loop):
    loop.silent.add("elm-main")
    for watcher in together.watchers.values():
        loss = wait_until(watcher.losses, f"{watcher.name} to confirm the loss of elm")
        assert [d["subject"] for d in loss] == ["elm"], loss
    loop.silent.discard("elm-main")
    for watcher in together.watchers.values():
        wait_until(lambda: [d for d in watcher.history() if d["decision"] == "recovery"],
                   f"{watcher.name} to see elm back")
    print("  a controller that is silent to the one that hears it is lost for both")


def the_relay_is_lost(together):
    harbour, breakwater = together["harbour"], together["breakwater"]
    before = len(harbour.losses())
    breakwater.kill()
    told = wait_until(lambda: [d for d in together.told(by="harbour")
                               if d["subject"] == "watcher-breakwater"], "harbour to tell")
    words = " ".join(told[0]["text"].split())
    assert "The tanks at Site elm and Site oak are not being watched until it is back" in words, words
    time.sleep(6)
    lost = [d["subject"] for d in harbour.losses()[before:]]
    assert lost == ["watcher-breakwater"], lost
    print("  when the one that passes on is lost, that is told, and not the tanks")


def trace_of(watcher):
    """How often each watcher heard each controller."""
    counts = {}
    rows = csv.DictReader(io.StringIO(watcher.command("history", "--as", "trace").stdout))
    for row in rows:
        if row["kind"] == "check-in":
            key = row["watcher"], row["subject"]
            counts[key] = counts.get(key, 0) + 1
    return counts


def relaying():
    catchers = Catchers()
    # harbour hears nothing but breakwater: only its own link can show that breakwater is lost.
    together = Together(catchers, ["elm", "oak"], ["breakwater", "harbour"], relay=["breakwater"],
                        references=f'[{{name: post, tcp: "127.0.0.1:{catchers.http_port}"}}]',
                        uplink_quorum=1)
    together.add("harbour", "breakwater")
    loop = None
    try:
        together.start()
        loop = heard_through_the_other(together)
        what_is_lost_is_lost(together, loop)
        the_relay_is_lost(together)
    except AssertionError:
        for watcher in together.watchers.values():
            print(watcher.name, watcher.log_text()[-6000:])
        raise
    finally:
        if loop:
            loop.stop()
        together.remove()
        catchers.stop()


def printed_lines():
    catchers = Catchers()
    together = Together(catchers, ["elm", "oak"])
    together.add("harbour", "breakwater")
    try:
        add_udp(together)
        together.start()
        printed_lines_reach_both(together)
        mistakes_are_named(together)
    except AssertionError:
        for watcher in together.watchers.values():
            print(watcher.name, watcher.log_text()[-6000:])
        raise
    finally:
        together.remove()
        catchers.stop()


printed_lines()
relaying()
