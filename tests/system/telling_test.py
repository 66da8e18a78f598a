"""Three daemons that tell of the same sites, in an order: one notice for one outage under one name;
what one is told all know; when the teller dies in the middle the next goes on without calling anybody
twice, and tells the end."""
from harness import Catchers, CheckInLoop, wait_until
from witness_world import Together, both_hear, text

SITES = ["elm", "oak"]
ORDER = ["harbour", "breakwater", "pier"]


def silence(loops, site):
    for loop in loops.values():
        loop.silent.add(site + "-main")


def sound(loops, site):
    for loop in loops.values():
        loop.silent.discard(site + "-main")


def outage(watcher, name):
    return next((o for o in watcher.status()["outages"] if o["outage"] == name), None)


def sources(together, kind, subject):
    with together.catchers.lock:
        return [body["source"].rsplit(":", 1)[1] for _, body in together.catchers.hooks
                if body["type"] == kind and body["data"]["subject"] == subject]


def one_of_three_tells(together, loops):
    silence(loops, "elm")
    for name in ORDER:
        found = wait_until(lambda: outage(together[name], "elm-1"), f"{name} to see elm-1")
        assert found["subject"] == "elm", text(found)
    wait_until(lambda: all((outage(together[n], "elm-1") or {}).get("told_by") == "harbour"
                           for n in ORDER), "all to know that harbour tells")
    assert sources(together, "ebbwatch.loss", "elm") == ["harbour"]
    told = together.told()[0]
    assert told["outage"] == "elm-1" and "elm-1" in told["text"], text(told)
    print("  one of three tells, and all know it")


def taken_on_anywhere_is_taken_on_everywhere(together):
    done = together["pier"].command("acknowledge", "elm-1", "--by", "sam")
    assert "elm-1" in done.stdout, done.stdout
    for name in ORDER:
        wait_until(lambda: outage(together[name], "elm-1")["alarm"] == "acknowledged",
                   f"{name} to know that sam has it")
    print("  taken on at one watcher is taken on at all")


def the_end_is_told_once(together, loops):
    sound(loops, "elm")
    wait_until(lambda: sources(together, "ebbwatch.recovery", "elm"), "the end to be told")
    for name in ORDER:
        wait_until(lambda: outage(together[name], "elm-1") is None, f"{name} to see the end")
    assert sources(together, "ebbwatch.recovery", "elm") == ["harbour"]
    print("  the end is told once")


def the_next_goes_on(together, loops):
    silence(loops, "oak")
    wait_until(lambda: outage(together["breakwater"], "oak-1")
               and outage(together["breakwater"], "oak-1").get("told_by") == "harbour",
               "breakwater to know that harbour tells of oak")
    together["harbour"].kill()
    wait_until(lambda: outage(together["breakwater"], "oak-1").get("told_by") == "breakwater",
               "breakwater to take over")
    wait_until(lambda: "watcher-harbour" in [d["subject"] for d in together.told()],
               "the loss of harbour to be told")
    sound(loops, "oak")
    wait_until(lambda: "breakwater" in sources(together, "ebbwatch.recovery", "oak"),
               "breakwater to tell the end")
    assert sources(together, "ebbwatch.loss", "oak") == ["harbour"], \
        sources(together, "ebbwatch.loss", "oak")
    assert sources(together, "ebbwatch.recovery", "oak") == ["breakwater"]
    lost = sources(together, "ebbwatch.loss", "watcher-harbour")
    assert lost == ["breakwater"], lost
    print("  when the teller dies the next goes on, and calls nobody twice")


def main():
    catchers = Catchers()
    together = Together(catchers, SITES, ORDER)
    together.add(*ORDER)
    loops = {}
    try:
        loops = both_hear(together, SITES)
        one_of_three_tells(together, loops)
        taken_on_anywhere_is_taken_on_everywhere(together)
        the_end_is_told_once(together, loops)
        the_next_goes_on(together, loops)
    except AssertionError:
        for watcher in together.watchers.values():
            print(watcher.name, watcher.log_text()[-5000:])
        raise
    finally:
        for loop in loops.values():
            loop.stop()
        together.remove()
        catchers.stop()


main()
