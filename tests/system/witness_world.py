"""Several daemons that are each other's witnesses, for the tests of what they do together."""
import json

from harness import CheckInLoop, Watcher, free_port, wait_until  # noqa: F401

WATCHER = """
watcher:
  name: {name}
  state_dir: {folder}/state
  uplink_references: {references}
  uplink_quorum: {uplink_quorum}
  uplink_every: 1s
  witness_limit: {limit}
  witness_every: 1s
  deputy_after: {deputy_after}
  call_list: everyday
detection: {{on_delay: {on_delay}, off_delay: 2s, min_missed: 2{detection}}}
sites:
{sites}
witnesses:
{witnesses}
notifiers:
  - {{id: hook, kind: webhook, url: "{hook}", signing_key: {{file: hook.key}}}}
keyholders:
  - {{id: robin, name: Robin, email: robin@example.net, phone: "+15550100"}}
  - {{id: sam, name: Sam, email: sam@example.net, phone: "+15550101"}}
call_lists:
  - id: everyday
    steps:
      - {{after: 0min, tell: [robin], by: [hook]}}
      - {{after: {second_step}, tell: [sam], by: [hook]}}
listen:
  check_in_http: {{address: "{address}", port: {port}}}
"""

SITE = """  - id: {id}
    name: Site {id}
    call_list: everyday
    tells_first: [{tells_first}]
    tanks:
      - {{id: {id}-tank, name: Tank {id}, controllers: [{{id: {id}-main, interval: 1s}}]}}
"""

KEY = "a shared key for tests only, of 32 bytes"


class Together:
    """The settings that all of them share; each gets a daemon of its own by add()."""

    def __init__(self, catchers, sites, tells_first=(), address=lambda name: "127.0.0.1",
                 hook=None, run_in=lambda name: (), relay=(), **values):
        """`relay`: these pass on what they hear."""
        self.catchers, self.sites, self.tells_first = catchers, sites, list(tells_first)
        self.address, self.run_in, self.relay = address, run_in, relay
        self.hook = hook or (lambda name: f"http://127.0.0.1:{catchers.http_port}/hook/{name}")
        self.values = dict(limit="2s", on_delay="3s", deputy_after="3s", detection="",
                           second_step="10min", references="[]", uplink_quorum=0)
        self.values.update(values)
        self.watchers = {}

    def add(self, *names):
        for name in names:
            self.watchers[name] = Witness(self, name)
        for watcher in self.watchers.values():
            watcher.write()

    def __getitem__(self, name):
        return self.watchers[name]

    def start(self):
        for watcher in self.watchers.values():
            watcher.start()
        return self

    def remove(self):
        for watcher in self.watchers.values():
            watcher.remove()

    def told(self, kind="ebbwatch.loss", by=None):
        """Data of the web hook calls of a kind, from one watcher or all."""
        with self.catchers.lock:
            return [body["data"] for headers, body in self.catchers.hooks
                    if body["type"] == kind and (by is None or body["source"].endswith(":" + by))]


class Witness(Watcher):
    def __init__(self, together, name):
        super().__init__(together.catchers, [])
        self.together, self.name = together, name
        self.host = together.address(name)
        self.run_in = together.run_in(name)
        self.write_secret("witness.key", KEY)

    def write(self, **changed):
        t = self.together
        order = ", ".join(t.tells_first) or self.name
        known = [o for o in t.watchers.values() if o is not self]
        witnesses = "".join(
            f'  - {{name: {o.name}, url: "http://{o.host}:{o.port}", key: {{file: witness.key}}'
            f'{", relay: true" if self.name in t.relay else ""}}}\n'
            for o in known)
        self.config.write_text(WATCHER.format(
            name=self.name, folder=self.folder, port=self.port, address=self.host,
            hook=t.hook(self.name), witnesses=witnesses or "  []\n",
            sites="".join(SITE.format(id=s, tells_first=order) for s in t.sites),
            **{**t.values, **changed}))

    def witness(self, name):
        return next(w for w in self.status()["witnesses"] if w["name"] == name)

    def controller(self, name):
        for site in self.status()["sites"]:
            for tank in site["tanks"]:
                for controller in tank["controllers"]:
                    if controller["id"] == name:
                        return controller
        raise KeyError(name)

    def losses(self):
        return [d for d in self.history() if d["decision"] == "loss"]


def both_hear(together, sites):
    """Enrols every controller everywhere and lets it check in to all; by watcher its loop."""
    loops = {}
    for name, watcher in together.watchers.items():
        watcher.enrol(*[s + "-main" for s in sites])
    together.start()
    for name, watcher in together.watchers.items():
        loops[name] = CheckInLoop(watcher, [s + "-main" for s in sites], 0.5)
        loops[name].start()
    for watcher in together.watchers.values():
        wait_until(lambda: all(watcher.controller(s + "-main")["contact"] == "present"
                               for s in sites), f"{watcher.name} to hear every site")
        wait_until(lambda: all(w["contact"] == "present" for w in watcher.status()["witnesses"]),
                   f"{watcher.name} to hear its witnesses")
    return loops


def text(value):
    return json.dumps(value, indent=1)
