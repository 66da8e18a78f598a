"""What the board tells programs, read by others' parsers: JSON against its own OpenAPI description (Debian's
python3-jsonschema), figures (python3-prometheus-client), calendars (python3-icalendar); and read-only
addresses. A part whose parser is not installed is skipped, visibly."""
import datetime
import http.client
import json
import re
import unittest

from board_security_test import table
from board_test import Visitor
from harness import Catchers, CheckInLoop, Watcher, free_port, wait_until

try:
    import jsonschema
except ImportError:
    jsonschema = None
try:
    from prometheus_client.openmetrics import parser as openmetrics
except ImportError:
    openmetrics = None
try:
    import icalendar
except ImportError:
    icalendar = None


class BoardProgramsTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.catchers = Catchers()
        cls.port = free_port()
        cls.watcher = Watcher(cls.catchers, ["mill", "quay"], off_delay="1s",
                              more='  board: {address: "127.0.0.1", port: %d}' % cls.port)
        cls.watcher.enrol("mill-main", "quay-main")
        cls.watcher.start()
        cls.key = json.loads(cls.watcher.command("wall-address", "new", "tests", "--json").stdout)["key"]
        cls.loop = CheckInLoop(cls.watcher, ["mill-main", "quay-main"], 0.5)
        cls.loop.start()
        wait_until(lambda: all(s["tanks"][0]["controllers"][0]["last_heard"] for s in cls.watcher.status()["sites"]),
                   "both to be heard")
        cls.watcher.command("drill", "--site", "quay", "--by", "Kim; of, the \\club")
        cls.loop.silent.add("mill-main")
        cls.outage = wait_until(lambda: [d["outage"] for d in cls.watcher.history() if d["decision"] == "loss"],
                                "a loss")[0]
        cls.watcher.command("shelve", "quay-tank", "--for", "2h", "--reason", "salt, sand; rock", "--by", "robin")

    @classmethod
    def tearDownClass(cls):
        cls.loop.stop()
        code = cls.watcher.terminate()
        cls.watcher.remove()
        cls.catchers.stop()
        assert code == 0, code

    def ask(self, path, key=None, method="GET"):
        headers = {"Authorization": "Bearer " + (key or self.key)}
        return Visitor(self.port).ask(method, path, headers=headers)

    @unittest.skipUnless(jsonschema, "python3-jsonschema is not installed")
    def test_every_answer_is_as_described(self):
        described = json.loads(Visitor(self.port).ask("GET", "/v1/openapi.json").text)
        self.assertEqual(described["openapi"], "3.1.0")
        served = {re.sub(r"\*", "{id}", path) for _, path, page, _, _ in table()
                  if path.startswith("/v1/") and page != "events" or path == "/metrics"}
        self.assertEqual(set(described["paths"]), served)
        ids = {"/v1/sites/{id}": "mill", "/v1/tanks/{id}": "quay-tank", "/v1/controllers/{id}": "mill-main",
               "/v1/outages/{id}": self.outage}
        for path, item in described["paths"].items():
            responses = item["get"]["responses"]
            self.check(described, responses, 200, self.ask(path.replace("{id}", ids.get(path, ""))))
            if "security" not in item["get"]:
                self.check(described, responses, 401, self.ask(path.replace("{id}", ids.get(path, "")), "wrong"))
            if path in ids:
                self.check(described, responses, 404, self.ask(path.replace("{id}", "no-such-thing")))
        self.check(described, described["paths"]["/v1/outages"]["get"]["responses"], 400, self.ask("/v1/outages?days=x"))

    def check(self, described, responses, status, answer):
        self.assertEqual(answer.status, status, answer.text)
        content = responses[str(status)]["content"]
        kind = answer.headers["Content-Type"].split(";")[0]
        self.assertEqual(list(content), [kind])
        if not kind.endswith("json"):
            return
        schema = {"components": described["components"], **content[kind]["schema"]}
        jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(json.loads(answer.text))

    def test_the_answers_say_what_is_so(self):
        sites = json.loads(self.ask("/v1/sites").text)["sites"]
        self.assertEqual([s["id"] for s in sites], ["mill", "quay"])
        controller = json.loads(self.ask("/v1/controllers/mill-main").text)
        self.assertEqual((controller["tank"], controller["site"], controller["supply"], controller["interval_s"]),
                         ("mill-tank", "mill", "mains", 1))
        self.assertEqual(json.loads(self.ask("/v1/tanks/quay-tank").text)["alarm"], "shelved")
        outage = json.loads(self.ask("/v1/outages").text)["outages"][0]
        self.assertEqual((outage["outage"], outage["returned_at"], outage["marked_false"]), (self.outage, None, False))
        record = json.loads(self.ask("/v1/outages/" + self.outage).text)
        self.assertTrue(record["running"])
        self.assertIn("loss", [line["decision"] for line in record["record"]])
        wait_until(lambda: {n["state"] for n in json.loads(self.ask("/v1/outages/" + self.outage).text)["notices"]}
                   == {"delivered"}, "all notices delivered")

    @unittest.skipUnless(openmetrics, "python3-prometheus-client is not installed")
    def test_figures_are_read_by_another_parser(self):
        answer = self.ask("/metrics")
        self.assertIn("openmetrics-text; version=1.0.0", answer.headers["Content-Type"])
        families = {f.name: f for f in openmetrics.text_string_to_metric_families(answer.text)}
        value = {(s.name, *s.labels.values()): s.value for f in families.values() for s in f.samples}
        self.assertEqual(value[("ebbwatch_outages_running",)], 1)
        self.assertEqual(value[("ebbwatch_tank_lost", "mill-tank", "mill")], 1)
        self.assertEqual(value[("ebbwatch_tank_lost", "quay-tank", "quay")], 0)
        self.assertEqual(value[("ebbwatch_controllers", "silent")], 1)
        self.assertEqual(value[("ebbwatch_put_away",)], 1)
        self.assertEqual(value[("ebbwatch_store_failing",)], 0)
        self.assertEqual(families["ebbwatch_controller_last_heard_seconds"].unit, "seconds")

    @unittest.skipUnless(icalendar, "python3-icalendar is not installed")
    def test_the_calendar_is_read_by_another_parser(self):
        answer = Visitor(self.port).ask("GET", f"/wall/{self.key}/calendar.ics")
        self.assertEqual(answer.headers["Content-Type"].split(";")[0], "text/calendar")
        calendar = icalendar.Calendar.from_ical(answer.text)
        events = {str(e["SUMMARY"]): e for e in calendar.walk("VEVENT")}
        self.assertEqual(set(events), {"Drill at Site quay", "Shelved: tank Tank quay"})
        shelf = events["Shelved: tank Tank quay"]
        self.assertEqual(str(shelf["DESCRIPTION"]), "salt, sand; rock (Robin)")
        self.assertAlmostEqual((shelf["DTEND"].dt - shelf["DTSTART"].dt).total_seconds(), 7200, delta=2)
        self.assertEqual(shelf["DTSTART"].dt.tzinfo.utcoffset(None), datetime.timedelta(0))
        self.assertEqual(len({str(e["UID"]) for e in events.values()}), 2)

    def test_a_wall_address_shows_the_panel_until_it_is_ended(self):
        made = json.loads(self.watcher.command("wall-address", "new", "kitchen", "--json").stdout)
        self.assertEqual(made["page"], f"http://127.0.0.1:{self.port}/wall/{made['key']}")
        path = "/wall/" + made["key"]
        page = Visitor(self.port).ask("GET", path)
        self.assertEqual(page.status, 200)
        self.assertIn("Tank mill", page.text)
        self.assertNotIn("<form", page.text)
        stream = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        stream.request("GET", path + "/events?after=" + re.search(r'data-seen="([^"]+)"', page.text).group(1))
        events = stream.getresponse()
        self.assertEqual(events.status, 200)
        self.assertIn("kitchen", self.watcher.command("wall-address", "list").stdout)
        stored = (self.watcher.folder / "state/ebbwatch.sqlite3").read_bytes()
        wal = (self.watcher.folder / "state/ebbwatch.sqlite3-wal").read_bytes()
        self.assertNotIn(made["key"].encode(), stored + wal)
        self.assertNotIn(made["key"], self.watcher.log_text())
        self.watcher.command("wall-address", "revoke", "kitchen")
        self.assertEqual(Visitor(self.port).ask("GET", path).status, 404)
        self.assertEqual(self.ask("/metrics", made["key"]).status, 401)
        while events.readline():  # The open page is cut off, at the latest at the next heartbeat.
            pass
        stream.close()
        self.assertEqual(self.watcher.command("wall-address", "revoke", "kitchen", check=False).returncode, 1)
        self.assertEqual(self.watcher.command("wall-address", "new", "No Name", check=False).returncode, 2)


if __name__ == "__main__":
    unittest.main(verbosity=2)
