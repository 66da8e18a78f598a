"""Check-ins through a real mosquitto: taken, kept ones refused, a last will, a broker that is gone
for longer than the on-delay, wrong passwords, TLS, MQTT 3.1.1 and 5."""
import json
import shutil
import socket
import subprocess
import sys
import threading
import time
import unittest

from harness import Catchers, Watcher, free_port, wait_until

SITES = ["elm", "oak", "ash", "fir", "yew"]


class Broker:
    """mosquitto on loopback with its files in the watcher's folder."""

    def __init__(self, folder):
        self.folder, self.port, self.process = folder, free_port(), None
        self.lines = ["allow_anonymous true"]

    def start(self):
        path = self.folder / "mosquitto.conf"
        path.write_text("\n".join([f"listener {self.port} 127.0.0.1", "persistence false", "user root",
                                   *self.lines]) + "\n")
        with open(self.folder / "mosquitto.log", "ab") as log:
            self.process = subprocess.Popen(["mosquitto", "-c", path], stdout=log, stderr=log)
        wait_until(self.listens, "mosquitto to listen")

    def listens(self):
        if self.process.poll() is not None:
            raise AssertionError((self.folder / "mosquitto.log").read_text())
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
            return True
        except OSError:
            return False

    def stop(self):
        if self.process and self.process.poll() is None:
            self.process.kill()
            self.process.wait()

    def publish(self, topic, payload, *arguments, check=True):
        return subprocess.run(["mosquitto_pub", "-p", str(self.port), "-q", "1", "-t", topic, "-m", payload,
                               *arguments], check=check, capture_output=True, timeout=20)


class Publisher(threading.Thread):
    """Lets controllers publish every `every` seconds over one lasting connection; dies with the broker."""

    def __init__(self, broker, sites, every=0.5):
        super().__init__(daemon=True)
        self.broker, self.sites, self.every = broker, sites, every
        self.ending = threading.Event()
        self.start()

    def run(self):
        seq = 0
        while not self.ending.wait(self.every):
            seq += 1
            for site in self.sites:
                self.broker.publish(f"ebbwatch/{site}-main/check-in",
                                    json.dumps({"seq": seq, "uptime_s": seq}), check=False)

    def stop(self):
        self.ending.set()
        self.join()


class Mqtt(unittest.TestCase):
    def setUp(self):
        self.catchers = Catchers()
        self.watcher = Watcher(self.catchers, SITES, interval="1s", on_delay="2s")
        text = self.watcher.config.read_text().replace("uplink_quorum: 0", "uplink_quorum: 0, uplink_every: 1s,\n          call_list: everyday")
        self.watcher.config.write_text(text)
        self.broker = Broker(self.watcher.folder)
        self.publisher = None

    def tearDown(self):
        if self.publisher:
            self.publisher.stop()
        self.watcher.remove()
        self.broker.stop()
        self.catchers.stop()

    def listen(self, scheme="mqtt", **more):
        keys = "".join(f", {name}: {value}" for name, value in more.items())
        with self.watcher.config.open("a") as config:
            config.write(f'  check_in_mqtt: {{broker: "{scheme}://localhost:{self.broker.port}"{keys}}}\n')

    def mqtt(self):
        return self.watcher.status()["check_in_mqtt"]

    def is_working(self):
        return self.mqtt()["state"] == "working"

    def controller(self, site):
        sites = {s["id"]: s for s in self.watcher.status()["sites"]}
        return sites[site]["tanks"][0]["controllers"][0]

    def test_check_ins_are_contact_kept_ones_and_last_wills_are_not(self):
        self.listen()
        self.broker.start()
        self.broker.publish("ebbwatch/oak-main/check-in", "{}", "-r")
        self.watcher.start()
        wait_until(self.is_working, "the broker to take us on")
        wait_until(lambda: self.mqtt()["retained"] == 1, "the kept message to be refused")
        self.assertIsNone(self.controller("oak")["last_heard"])
        # Both versions of the protocol; a will is published when its sender is gone without a word.
        for version in ("mqttv311", "mqttv5"):
            self.broker.publish("ebbwatch/elm-main/check-in", json.dumps({"power": "mains"}), "-V", version)
        wait_until(lambda: self.mqtt()["taken"] == 2, "two check-ins")
        self.assertEqual(self.controller("elm")["contact"], "present")
        lasting = subprocess.Popen(["mosquitto_sub", "-p", str(self.broker.port), "-t", "none",
                                    "-i", "fir-main", "--will-topic", "ebbwatch/fir-main/leaving", "--will-payload", "gone"],
                                   stdout=subprocess.DEVNULL)
        wait_until(lambda: "as fir-main" in (self.watcher.folder / "mosquitto.log").read_text(),
                   "the broker to know its will")
        lasting.kill()
        lasting.wait()
        wait_until(lambda: self.mqtt()["leaving"] == 1, "the last will")
        self.assertEqual(self.controller("fir")["contact"], "enrolled")
        self.broker.publish("ebbwatch/elm-main/check-in", "{\"power\": \"coal\"}")
        self.broker.publish("ebbwatch/nobody/check-in", "{}")
        self.broker.publish("ebbwatch/elm-main/check-in", "x" * 20000)
        wait_until(lambda: self.mqtt()["too_long"] == 1, "the long one to be refused")
        counts = self.mqtt()
        self.assertEqual((counts["malformed"], counts["not_taken"], counts["taken"]), (1, 1, 2))
        log = self.watcher.log_text()
        self.assertIn("fir-main has left the MQTT broker", log)
        self.assertIn("retained", log)
        self.assertIn("MQTT broker", self.watcher.command("status").stdout)
        self.assertEqual(self.watcher.terminate(), 0)

    def test_a_broker_that_is_gone_is_our_own_gap_and_no_loss(self):
        self.listen()
        self.broker.start()
        self.watcher.start()
        wait_until(self.is_working, "the broker to take us on")
        self.publisher = Publisher(self.broker, SITES)
        wait_until(lambda: self.mqtt()["taken"] >= 3 * len(SITES), "check-ins of all")
        self.broker.stop()
        wait_until(self.watcher.history, "the gap to be known while it lasts")
        evidence = self.watcher.history()[0]["evidence"][0]
        self.assertIn("The MQTT broker has not answered this watcher", evidence)
        self.assertIn("Not to be heard: 5.", evidence)
        self.assertEqual(self.mqtt()["state"], "not_answering")
        page = self.watcher.command("status").stdout
        self.assertIn("NOT ANSWERING", page)
        self.assertIn("Connection refused", page)
        self.assertTrue(all(len(line) <= 80 for line in page.splitlines()), page)
        time.sleep(4)  # Two on-delays.
        self.broker.start()
        wait_until(self.is_working, "the broker to take us on again")
        taken = self.mqtt()["taken"]
        wait_until(lambda: self.mqtt()["taken"] >= taken + 6 * len(SITES), "check-ins again")
        decided = self.watcher.history()
        self.assertEqual({d["decision"] for d in decided}, {"watch_gap"}, decided)
        self.assertEqual(self.catchers.texts, [])  # It wakes nobody: the daily digest tells it.
        # One that stays away is lost all the same.
        self.publisher.sites = SITES[1:]
        wait_until(lambda: [d for d in self.watcher.history() if d["decision"] == "loss"], "the loss of one")
        self.assertEqual(self.watcher.history()[-1]["subject"], "elm")

    def test_a_wrong_password_is_told_and_mended_by_a_restart(self):
        passwords = self.watcher.folder / "passwords"
        subprocess.run(["mosquitto_passwd", "-b", "-c", passwords, "watcher", "a test's secret"], check=True,
                       capture_output=True)
        self.broker.lines = ["allow_anonymous false", f"password_file {passwords}"]
        self.broker.start()
        self.watcher.write_secret("mqtt.secret", "not the secret")
        self.listen(user="watcher", password="{file: mqtt.secret}")
        self.watcher.start()
        wait_until(lambda: self.mqtt()["state"] == "not_answering", "the refusal")
        self.assertIn("ot authorized", self.mqtt()["why"].replace("authorised", "authorized"))
        self.assertIn("ot authori", self.watcher.command("status").stdout)
        self.assertEqual(self.watcher.log_text().count("cannot be used"), 1)
        self.assertEqual(self.watcher.terminate(), 0)
        self.watcher.write_secret("mqtt.secret", "a test's secret")
        self.watcher.start()
        wait_until(self.is_working, "the broker to take us on")
        self.assertNotIn("secret", self.watcher.log_text())

    def test_tls_with_the_brokers_own_authority_and_keys_in_the_payload(self):
        folder = self.watcher.folder
        for name in ("broker", "other"):
            subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256",
                            "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext",
                            "subjectAltName=DNS:localhost", "-keyout", folder / f"{name}.key", "-out",
                            folder / f"{name}.pem"], check=True, capture_output=True)
        self.broker.lines += [f"certfile {folder}/broker.pem", f"keyfile {folder}/broker.key"]
        self.broker.start()
        self.listen("mqtts", ca_file="{file: other.pem}", require_key="true")
        self.watcher.enrol("elm-main", "oak-main")
        self.watcher.start()
        wait_until(lambda: self.mqtt()["state"] == "not_answering", "the strange certificate to be refused")
        self.assertIn("certificate", self.mqtt()["why"])
        self.assertEqual(self.watcher.terminate(), 0)
        self.watcher.config.write_text(self.watcher.config.read_text().replace("other.pem", "broker.pem"))
        self.watcher.start()
        wait_until(self.is_working, "the broker to take us on")
        trust = ("-h", "localhost", "--cafile", str(folder / "broker.pem"))
        self.broker.publish("ebbwatch/elm-main/check-in", "{}", *trust)
        self.broker.publish("ebbwatch/elm-main/check-in",
                            json.dumps({"key": self.watcher.keys["oak-main"]}), *trust)
        self.broker.publish("ebbwatch/elm-main/check-in",
                            json.dumps({"key": self.watcher.keys["elm-main"]}), *trust)
        wait_until(lambda: self.mqtt()["taken"] == 1, "the one with its own key")
        self.assertEqual(self.mqtt()["wrong_key"], 2)
        for key in self.watcher.keys.values():
            self.assertNotIn(key, self.watcher.log_text())


if __name__ == "__main__":
    if not shutil.which("mosquitto"):
        print("skipped: mosquitto is not installed (tools/install-packages test)")
        sys.exit(77)
    unittest.main()
