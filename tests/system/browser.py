"""A real browser for tests: Debian's chromedriver, spoken to in plain W3C WebDriver over HTTP."""
import base64
import http.client
import json
import os
import pathlib
import shutil
import subprocess
import tempfile

from harness import free_port, wait_until

AXE_VERSION = "4.10.3"
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"  # W3C WebDriver, section 12.


def available():
    return bool(shutil.which("chromedriver") and shutil.which("chromium"))


def axe():
    """The source of axe-core, from EBBWATCH_AXE or from npm; empty when it cannot be had."""
    place = pathlib.Path(os.environ.get("EBBWATCH_AXE", pathlib.Path(os.environ["EBBWATCH_BUILD_DIR"]) / "axe"
                                        / "node_modules/axe-core/axe.min.js"))
    if not place.exists() and shutil.which("npm") and "EBBWATCH_AXE" not in os.environ:
        try:
            subprocess.run(["npm", "install", "--prefix", place.parents[2], "--no-save", "--no-audit", "--no-fund",
                            "axe-core@" + AXE_VERSION], capture_output=True, timeout=60)
        except subprocess.TimeoutExpired:
            pass
    return place.read_text() if place.exists() else ""


class Browser:
    def __init__(self, width=1280, height=900, dark=False, scripts=True, still=False):
        self.port = free_port()
        self.folder = tempfile.mkdtemp(prefix="ebbwatch-browser-")
        self.driver = subprocess.Popen(["chromedriver", f"--port={self.port}"], stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
        wait_until(self.ready, "chromedriver")
        arguments = ["--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
                     f"--user-data-dir={self.folder}", f"--window-size={width},{height}"]
        if still:
            arguments.append("--force-prefers-reduced-motion")
        options = {"args": arguments}
        if not scripts:
            options["prefs"] = {"profile.managed_default_content_settings.javascript": 2}
        answer = self.call("POST", "/session", {"capabilities": {"alwaysMatch": {
            "goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL"}}}})
        self.session = "/session/" + answer["sessionId"]
        self.chrome("Emulation.setEmulatedMedia",
                    {"features": [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]})
        self.size(width, height)

    def ready(self):
        try:
            return self.call("GET", "/status")["ready"]
        except OSError:
            return False

    def call(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request(method, path, json.dumps(body) if body is not None else None,
                           {"Content-Type": "application/json"})
        answer = json.loads(connection.getresponse().read())["value"]
        connection.close()
        if isinstance(answer, dict) and "error" in answer:
            raise AssertionError(f"{method} {path}: {answer['error']}: {answer['message'][:300]}")
        return answer

    def do(self, path, body=None):
        return self.call("POST", self.session + path, body if body is not None else {})

    def chrome(self, command, parameters):
        return self.do("/goog/cdp/execute", {"cmd": command, "params": parameters})

    def size(self, width, height):
        """The size of the page itself; windows of a desktop browser have a least width."""
        self.chrome("Emulation.setDeviceMetricsOverride",
                    {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False})

    def open(self, address):
        self.do("/url", {"url": address})

    def find(self, selector):
        return self.do("/element", {"using": "css selector", "value": selector})[ELEMENT]

    def click(self, selector):
        self.do(f"/element/{self.find(selector)}/click")

    def type(self, selector, text):
        self.do(f"/element/{self.find(selector)}/value", {"text": text})

    def keys(self, text):
        """Keys as a person presses them, to whatever has the focus."""
        actions = [{"type": kind, "value": key} for key in text for kind in ("keyDown", "keyUp")]
        self.do("/actions", {"actions": [{"type": "key", "id": "keys", "actions": actions}]})

    def run(self, script, *arguments):
        return self.do("/execute/sync", {"script": script, "args": list(arguments)})

    def run_until_called(self, script, *arguments):
        """The script's last argument is a function that takes its result."""
        return self.do("/execute/async", {"script": script, "args": list(arguments)})

    def text(self, selector):
        return self.run("return document.querySelector(arguments[0])?.innerText ?? ''", selector)

    def complaints(self):
        """What the browser's console holds since the last call."""
        return [entry["message"] for entry in self.do("/se/log", {"type": "browser"})]

    def picture(self, path):
        with open(path, "wb") as out:
            out.write(base64.b64decode(self.call("GET", self.session + "/screenshot")))

    def close(self):
        try:
            self.call("DELETE", self.session)
        finally:
            self.driver.terminate()
            self.driver.wait()
            shutil.rmtree(self.folder, ignore_errors=True)
