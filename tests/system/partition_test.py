"""Three daemons, each in a network namespace of its own, with real faults between them: check-ins that do
not get through to one, a watcher whose link is down, messages lost in one direction, and a split in which
two tell. Needs root and the right to make namespaces; says so and is skipped without."""
import os
import subprocess
import sys
import time

from harness import Catchers, wait_until
from witness_world import Together, both_hear, text

ORDER = ["harbour", "breakwater", "pier"]
# So many that two watchers and one site are not most of what a watcher hears.
SITES = ["elm", "oak", "ash", "fir", "yew"]
TAG = f"eb{os.getpid() % 10000}"
NET = f"10.77.{os.getpid() % 250}"
US = f"{NET}.1"


def run(*command, check=True):
    return subprocess.run(command, check=check, capture_output=True, text=True)


def space(name):
    return f"{TAG}{name[0]}"


def address(name):
    return f"{NET}.{10 + ORDER.index(name)}"


def inside(name, *command):
    return run("ip", "netns", "exec", space(name), *command)


def make_network():
    run("ip", "link", "add", TAG, "type", "bridge")
    run("ip", "addr", "add", US + "/24", "dev", TAG)
    run("ip", "link", "set", TAG, "up")
    for name in ORDER:
        run("ip", "netns", "add", space(name))
        run("ip", "link", "add", space(name) + "o", "type", "veth", "peer", "name", "eth0",
            "netns", space(name))
        run("ip", "link", "set", space(name) + "o", "master", TAG, "up")
        inside(name, "ip", "addr", "add", address(name) + "/24", "dev", "eth0")
        inside(name, "ip", "link", "set", "lo", "up")
        inside(name, "ip", "link", "set", "eth0", "up")
        inside(name, "nft", "add table ip t; add chain ip t in "
                            "{ type filter hook input priority 0; }")


def remove_network():
    for name in ORDER:
        run("ip", "netns", "del", space(name), check=False)
    run("ip", "link", "del", TAG, check=False)


def deaf(name, *sources):
    """`name` gets nothing from these addresses any more; nothing given: hears all again."""
    inside(name, "nft", "flush chain ip t in")
    for source in sources:
        inside(name, "nft", f"add rule ip t in ip saddr {source} tcp dport 1-65535 drop")


def sources_of(together, kind, subject):
    with together.catchers.lock:
        return [body["source"].rsplit(":", 1)[1] for _, body in together.catchers.hooks
                if body["type"] == kind and body["data"]["subject"] == subject]


def losses(together, name):
    return [d["subject"] for d in together[name].losses()]


def outage(watcher, name):
    return next((o for o in watcher.status()["outages"] if o["outage"] == name), None)


def check_ins_do_not_reach_one(together):
    harbour = together["harbour"]
    inside("harbour", "nft", f"add rule ip t in ip saddr {US} tcp dport {harbour.port} drop")
    hearers = wait_until(lambda: harbour.controller("elm-main").get("path_broken_heard_by"),
                         "harbour to know that the others hear elm")
    assert set(hearers) == {"breakwater", "pier"}, hearers
    time.sleep(3)
    assert losses(together, "harbour") == [], losses(together, "harbour")
    deaf("harbour")
    wait_until(lambda: harbour.controller("elm-main")["contact"] == "present", "elm to be heard")
    print("  check-ins that do not reach one watcher: nobody is told")


def a_link_is_down(together):
    run("ip", "link", "set", space("pier") + "o", "down")
    wait_until(lambda: "watcher-pier" in losses(together, "harbour"), "pier's loss to be confirmed")
    wait_until(lambda: sources_of(together, "ebbwatch.loss", "watcher-pier"), "it to be told")
    time.sleep(4)
    assert losses(together, "pier") == [], losses(together, "pier")
    run("ip", "link", "set", space("pier") + "o", "up")
    wait_until(lambda: sources_of(together, "ebbwatch.recovery", "watcher-pier"),
               "pier's return to be told")
    assert losses(together, "pier") == [], losses(together, "pier")
    assert sources_of(together, "ebbwatch.loss", "watcher-pier") == ["breakwater"]
    print("  a watcher that is cut off tells nothing, and its own loss is told once")


def one_way_only(together):
    """harbour gets nothing that pier sends, pier gets all: asking still works for nobody of the two."""
    deaf("harbour", address("pier"))
    time.sleep(5)
    for name in ORDER:
        sites = [s for s in losses(together, name) if not s.startswith("watcher")]
        assert sites == [], (name, sites)
    told = sources_of(together, "ebbwatch.loss", "watcher-harbour")
    assert told == [], told  # breakwater hears both.
    deaf("harbour")
    wait_until(lambda: together["harbour"].witness("pier")["contact"] == "present",
               "harbour to hear pier again")
    print("  one direction lost between two: the third hears both, nobody is told")


def a_split(together, loops):
    deaf("harbour", address("breakwater"), address("pier"))
    deaf("breakwater", address("harbour"))
    deaf("pier", address("harbour"))
    time.sleep(4)  # So long that neither side counts the other as alive.
    for loop in loops.values():
        loop.silent.add("oak-main")
    wait_until(lambda: {"harbour", "breakwater"} <=
               set(sources_of(together, "ebbwatch.loss", "oak")), "both sides to tell", 30)
    names = {d["outage"] for d in together.told() if d["subject"] == "oak"}
    assert names == {"oak-1"}, names
    assert sorted(sources_of(together, "ebbwatch.loss", "oak")) == ["breakwater", "harbour"]
    for name in ORDER:
        deaf(name)
    wait_until(lambda: outage(together["breakwater"], "oak-1").get("told_by") == "harbour",
               "breakwater to stand back")
    for loop in loops.values():
        loop.silent.discard("oak-main")
    wait_until(lambda: sources_of(together, "ebbwatch.recovery", "oak"), "the end to be told")
    wait_until(lambda: not any(together[n].status()["outages"] for n in ORDER), "all to agree")
    ended = sources_of(together, "ebbwatch.recovery", "oak")
    assert ended == ["harbour"], ended
    print("  a split: both tell under one name, the later stands back, the end is told once")


def main():
    try:
        make_network()
    except (OSError, subprocess.CalledProcessError) as why:
        remove_network()
        print("SKIPPED: no network namespaces here:", getattr(why, "stderr", None) or why)
        sys.exit(77)
    loops = {}
    together = catchers = None
    try:
        catchers = Catchers("0.0.0.0")
        port = catchers.http_port
        together = Together(
            catchers, SITES, ORDER, address=address,
            hook=lambda name: f"http://{US}:{port}/hook/{name}",
            run_in=lambda name: ("ip", "netns", "exec", space(name)),
            references=f'[{{name: post, tcp: "{US}:{port}"}}]', uplink_quorum=1)
        together.add(*ORDER)
        loops = both_hear(together, SITES)
        check_ins_do_not_reach_one(together)
        a_link_is_down(together)
        one_way_only(together)
        a_split(together, loops)
    except AssertionError:
        for watcher in together.watchers.values():
            print(watcher.name, watcher.log_text()[-5000:])
        raise
    finally:
        for loop in loops.values():
            loop.stop()
        if together:
            together.remove()
        remove_network()
        if catchers:
            catchers.stop()


main()
