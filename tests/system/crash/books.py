"""After the rounds: the counterparts' books against the daemon's store. Each rule is one function; it returns
what breaks it, in sentences. The store is read as a file, with SQL of its own."""
import collections
import json
import re
import sqlite3

from crash.run import CALM, PHONES, TROUBLED

# A copy in a later round is allowed when the kill came before the answer could be stored. Seconds, generous.
STORE_WITHIN = 5
# A copy that was in the kernel's buffers at the kill is read by the counterpart only after it. Seconds, generous.
BUFFERED = 0.5
# What wakes nobody waits for the morning.
OF_THE_DIGEST = ("digest", "watch_gap", "unsteady", "steady", "notifier_failing", "notifier_working")


class Books:
    def __init__(self, run):
        self.run = run
        with sqlite3.connect(run.watcher.folder / "state" / "ebbwatch.sqlite3") as database:
            self.database = database
            names = ("notice", "outage", "kind", "keyholder", "notifier", "state", "attempts", "created", "json")
            self.notices = {row[0]: dict(zip(names, row)) for row in database.execute(
                "SELECT notice, outage, kind, keyholder, notifier, state, attempts, created_at, message_json FROM notices")}
            self.attempts = collections.defaultdict(list)
            for notice, outcome, at in database.execute("SELECT notice, outcome, at FROM attempts ORDER BY id"):
                self.attempts[notice].append((outcome, at / 1e6))
            self.calls = {row[0]: row[1] for row in database.execute("SELECT outage, acknowledged_by FROM calls")}
        for notice in self.notices.values():
            notice["message"] = json.loads(notice["json"])
        self.decisions = run.watcher.history()
        self.arrivals = run.arrivals()
        self.name_modem_copies()

    def name_modem_copies(self):
        """A text holds no identifier: it is given that of the notice whose words it has."""
        by_words = collections.defaultdict(list)
        for notice in self.notices.values():
            if notice["notifier"] == "modem":
                message = notice["message"].get("message", notice["message"])
                by_words[(message["to_phone"], message["short_text"])].append(notice["notice"])
        for entry in self.arrivals:
            if entry["way"] == "modem":
                of_words = by_words.get((PHONES[entry["keyholder"]], entry["text"]), [])
                entry["notice"] = of_words[0] if of_words else "unknown: " + entry["text"]
                entry["shared"] = len(of_words) > 1
            elif entry["way"] == "text":
                entry["keyholder"] = next(who for who, phone in PHONES.items() if phone == entry["keyholder"])

    def told_is_stored(self):
        for entry in self.arrivals:
            stored = self.notices.get(entry["notice"])
            if stored is None:
                yield f"{entry['way']} told {entry['notice']}, which was never stored"
            elif stored["notifier"] != entry["way"]:
                yield f"{entry['notice']} is for {stored['notifier']}, but came by {entry['way']}"
            elif entry["way"] != "hook" and stored["keyholder"] != entry["keyholder"]:
                yield f"{entry['notice']} is for {stored['keyholder']}, but {entry['keyholder']} got it"

    def delivered_has_arrived(self):
        arrived = {entry["notice"] for entry in self.arrivals}
        shared = {entry["text"] for entry in self.arrivals if entry.get("shared")}
        for notice in self.notices.values():
            message = notice["message"].get("message", notice["message"])
            if notice["state"] == "delivered" and notice["notice"] not in arrived and message["short_text"] not in shared:
                yield f"{notice['notice']} by {notice['notifier']} is said to be delivered, and never came"

    def nothing_waits(self):
        for notice in self.notices.values():
            ended = notice["state"] in ("delivered", "withdrawn", "dead_letter")
            if not ended and notice["kind"] not in OF_THE_DIGEST:
                yield f"{notice['notice']} is still {notice['state']}"

    def dead_letters_have_a_reason(self):
        for notice in self.notices.values():
            if notice["state"] != "dead_letter":
                continue
            outcomes = [outcome for outcome, _ in self.attempts[notice["notice"]]]
            if "rejected_forever" not in outcomes and "reported_failed" not in outcomes:
                yield f"{notice['notice']} was given up without a refusal: {outcomes}"

    def copies(self):
        """A second copy needs a kill after a clean first one, before its answer was stored."""
        by_notice = collections.defaultdict(list)
        for entry in self.arrivals:
            if not entry.get("shared"):
                by_notice[entry["notice"]].append(entry)
        for notice, entries in by_notice.items():
            entries.sort(key=lambda entry: entry["at"])
            for first, second in zip(entries, entries[1:]):
                if not first["clean"]:
                    continue  # Its answer was lost: it has to come again.
                kills = [kill for kill in self.run.kills if first["came"] - BUFFERED <= kill <= second["at"]]
                if not kills:
                    yield f"{notice} came twice by {first['way']} without a crash between"
                elif kills[0] - first["at"] > STORE_WITHIN:
                    yield f"{notice} came again although {kills[0] - first['at']:.1f} s were left to store the answer"

    def nobody_is_told_twice_by_one_process(self):
        """By the daemon's own log: after "delivered" no further attempt within one life of the process."""
        done = set()
        for line in self.run.watcher.log_text().splitlines():
            if "[started]" in line:
                done.clear()
            attempt = re.search(r"Notice (\S+) .* attempt \d+: (delivered)?", line)
            if not attempt or "[notice_attempt]" not in line:
                continue
            if attempt[1] in done:
                yield f"{attempt[1]} was sent again after it was delivered: {line}"
            if attempt[2]:
                done.add(attempt[1])

    def calm_sites_were_left_alone(self):
        for decision in self.decisions:
            if decision["decision"] == "loss" and any(decision["subject"].startswith(site) for site in CALM):
                yield f"{decision['subject']} always checked in, and was told lost: {decision['evidence']}"

    def each_loss_ends_once(self):
        losses = collections.Counter(d["outage"] for d in self.decisions if d["decision"] == "loss")
        ends = collections.Counter(d["outage"] for d in self.decisions if d["decision"] == "recovery")
        for outage, count in losses.items():
            if count != 1 or ends[outage] != 1:
                yield f"{outage} has {count} losses and {ends[outage]} recoveries"
        for outage in set(ends) - set(losses):
            yield f"{outage} recovered without a loss"

    def each_loss_reaches_somebody(self):
        """Or says why not: refused for good, taken on, put away, or over before it could be told."""
        of_outage = collections.defaultdict(list)
        for notice in self.notices.values():
            of_outage[f"pier-{notice['outage']}"].append(notice)
        for decision in self.decisions:
            if decision["decision"] != "loss" or decision.get("told") == "held":
                continue
            notices = of_outage[decision["outage"]]
            people = {notice["keyholder"] for notice in notices if notice["kind"] in ("loss", "recovery")}
            shelved = self.was_shelved(decision)
            if not notices and not shelved:
                yield f"{decision['outage']} was told to nobody"
            if notices and people != {"robin", "sam"}:
                yield f"{decision['outage']} was meant only for {people}"
            for who in people:
                states = {notice["state"] for notice in notices if notice["keyholder"] == who}
                taken = self.calls.get(int(decision["outage"].split("-")[1]), "")
                if not states & {"delivered", "dead_letter"} and not taken and not shelved:
                    yield f"{decision['outage']} never reached {who}: {states}"

    def was_shelved(self, decision):
        site = next(site for site in TROUBLED if decision["subject"].startswith(site))
        return any(d["decision"] == "shelved" and d["subject"].startswith(site) for d in self.decisions)

    def recoveries_follow_losses(self):
        """By the same way to the same person, unless it tells both in one."""
        known = {(n["outage"], n["keyholder"], n["notifier"]) for n in self.notices.values()
                 if n["kind"] == "loss" and (n["state"] == "delivered" or n["attempts"] > 0)}
        for notice in self.notices.values():
            if notice["kind"] != "recovery" or notice["state"] != "delivered":
                continue
            combined = notice["message"].get("occasion") == "combined"
            if not combined and (notice["outage"], notice["keyholder"], notice["notifier"]) not in known:
                yield f"{notice['notice']}: {notice['keyholder']} heard by {notice['notifier']} of an end without a beginning"

    def what_was_confirmed_is_kept(self):
        """"You have it" was said, so somebody has it in the store, whatever was killed afterwards."""
        by_code = {str(1000 + outage % 9000 * 4001 % 9000): outage for outage in self.calls}
        for given in self.run.acknowledged:
            outage = by_code.get(given["code"]) if given["code"] else int(given["outage"].split("-")[1])
            # Shelving it afterwards stops the calls in its own way.
            put_away = any(d["decision"] == "loss" and d["outage"] == f"pier-{outage}" and self.was_shelved(d)
                           for d in self.decisions)
            if not self.calls.get(outage) and not put_away:
                yield f"{given} was confirmed, and nobody has outage {outage}"

    def figures(self):
        twice = collections.Counter(entry["notice"] for entry in self.arrivals)
        losses = sum(d["decision"] == "loss" for d in self.decisions)
        by_way = collections.Counter(entry["way"] for entry in self.arrivals)
        states = collections.Counter(notice["state"] for notice in self.notices.values())
        torn = sum(not entry["clean"] for entry in self.arrivals)
        in_flight = sum(1 for entry in self.arrivals if entry["clean"] for kill in self.run.kills
                        if 0 <= kill - entry["at"] < 0.05)
        return [
            f"{len(self.run.kills)} kills in {self.run.took:.0f} s, at these moments: {self.run.moments}",
            f"{losses} losses, {len(self.notices)} notices: {dict(states)}",
            f"{len(self.arrivals)} copies arrived {dict(by_way)}, {torn} of them with the answer lost on purpose; "
            f"{in_flight} within 50 ms before a kill",
            f"{sum(count - 1 for count in twice.values())} copies came again, all with the same identifier",
            f"{len(self.run.acknowledged)} answers confirmed and kept, {self.run.shelved_in_all} shelves confirmed and kept, "
            f"reports heard: {self.run.http.reported}",
        ]

    def faults(self):
        rules = (self.told_is_stored, self.delivered_has_arrived, self.nothing_waits, self.dead_letters_have_a_reason,
                 self.copies, self.nobody_is_told_twice_by_one_process, self.calm_sites_were_left_alone, self.each_loss_ends_once, self.each_loss_reaches_somebody,
                 self.recoveries_follow_losses, self.what_was_confirmed_is_kept)
        return [f"{rule.__name__}: {fault}" for rule in rules for fault in rule()]
