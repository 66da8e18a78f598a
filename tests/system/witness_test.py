"""Two daemons that are each other's witnesses: what one of them hears is not told as lost by the other,
what both miss is; forged, altered and replayed messages change nothing; a lost watcher is told."""
import hashlib
import base64
import http.client
import json
import time

from harness import Catchers, wait_until
from witness_world import KEY, Together, both_hear, text

SITES = ["elm", "oak"]


def post(watcher, body, fields):
    connection = http.client.HTTPConnection("127.0.0.1", watcher.port, timeout=10)
    connection.request("POST", "/v1/witness", body, fields)
    answer = connection.getresponse()
    got = answer.status, answer.read()
    connection.close()
    return got


def a_broken_path_is_no_loss(together, loops):
    harbour = together["harbour"]
    loops["harbour"].silent.add("elm-main")
    seen = wait_until(lambda: harbour.controller("elm-main").get("path_broken_heard_by"),
                      "harbour to see that breakwater hears elm")
    assert seen == ["breakwater"], seen
    time.sleep(4)
    assert harbour.losses() == [], text(harbour.losses())
    assert "path between us and the site" in harbour.command("status").stdout
    loops["harbour"].silent.discard("elm-main")
    wait_until(lambda: "path_broken_heard_by" not in harbour.controller("elm-main"),
               "the path to be whole again")
    print("  a broken path is shown and not told")


def what_both_miss_is_lost(together, loops):
    for loop in loops.values():
        loop.silent.add("oak-main")
    for watcher in together.watchers.values():
        loss = wait_until(watcher.losses, f"{watcher.name} to confirm the loss of oak")
        assert [d["subject"] for d in loss] == ["oak"], text(loss)
        assert any("1 of 1 witness do not hear it either" in e or "1 of 1 witness does not" in e
                   for e in loss[0]["evidence"]), text(loss)
    for loop in loops.values():
        loop.silent.discard("oak-main")
    for watcher in together.watchers.values():
        wait_until(lambda: [d for d in watcher.history() if d["decision"] == "recovery"],
                   f"{watcher.name} to see oak back")
    print("  what both miss is lost")


def forged_messages_are_refused(together):
    harbour = together["harbour"]
    body = json.dumps({"version": 1, "from": "breakwater", "to": "harbour",
                       "relayed": [["elm-main", 0.1]]})
    digest = "sha-256=:" + base64.b64encode(hashlib.sha256(body.encode()).digest()).decode() + ":"
    signed = {"Content-Type": "application/json", "Content-Digest": digest,
              "Signature-Input": 'x=("@method" "@path" "content-digest");created=1;'
                                 'keyid="breakwater";nonce="aaaa"',
              "Signature": "x=:" + base64.b64encode(b"0" * 32).decode() + ":"}
    assert post(harbour, body, {})[0] == 400
    assert post(harbour, body, signed)[0] == 401
    assert post(harbour, body, {**signed, "Signature-Input":
                                signed["Signature-Input"].replace("breakwater", "pier")})[0] == 401
    assert post(harbour, body[:40], signed)[0] == 400
    assert post(harbour, "x" * 20000, signed)[0] == 413
    status, answer = post(harbour, body, signed)
    assert KEY not in answer.decode(), answer
    print("  forged messages are refused")


def a_lost_watcher_is_told(together):
    harbour, breakwater = together["harbour"], together["breakwater"]
    breakwater.kill()
    loss = wait_until(lambda: [d for d in harbour.losses()
                               if d["subject"] == "watcher-breakwater"],
                      "harbour to confirm the loss of breakwater")
    assert len(loss) == 1, text(loss)
    told = wait_until(lambda: [d for d in together.told() if d["subject"] == "watcher-breakwater"],
                      "people to be told of the lost watcher")
    assert "Watcher breakwater" in told[0]["text"], text(told)
    assert "Site elm" in told[0]["text"], text(told)
    breakwater.start()
    wait_until(lambda: [d for d in together.told("ebbwatch.recovery")
                        if d["subject"] == "watcher-breakwater"],
               "people to be told that the watcher is back")
    print("  a lost watcher is told, with what it was responsible for")


def main():
    catchers = Catchers()
    together = Together(catchers, SITES)
    together.add("harbour", "breakwater")
    loops = {}
    try:
        loops = both_hear(together, SITES)
        a_broken_path_is_no_loss(together, loops)
        what_both_miss_is_lost(together, loops)
        forged_messages_are_refused(together)
        a_lost_watcher_is_told(together)
    except AssertionError:
        for watcher in together.watchers.values():
            print(watcher.name, watcher.log_text()[-6000:])
        raise
    finally:
        for loop in loops.values():
            loop.stop()
        together.remove()
        catchers.stop()


main()
