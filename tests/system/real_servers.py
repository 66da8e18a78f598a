"""Real counterparts on loopback, each with its own folder and stopped by its own process: a postfix with
three doors (greylisting, TLS required, a certificate that nobody should trust) and a Kannel."""
import os
import pathlib
import shutil
import signal
import socketserver
import subprocess
import tempfile
import threading
import time

from harness import free_port, wait_until

NEEDED = ("/usr/sbin/postfix", "/usr/sbin/bearerbox", "/usr/sbin/smsbox", "/usr/lib/kannel/test/fakesmsc")
MAIN = """compatibility_level = 3.6
queue_directory = {folder}/queue
data_directory = {folder}/data
maillog_file = {folder}/log
maillog_file_prefixes = {folder}
inet_interfaces = 127.0.0.1
inet_protocols = ipv4
myhostname = mail.example.net
mydestination =
mynetworks = 127.0.0.0/8
local_recipient_maps =
alias_maps =
alias_database =
virtual_mailbox_domains = example.net
virtual_mailbox_base = {folder}/mail
virtual_mailbox_maps = inline:{{ robin@example.net=robin/ sam@example.net=sam/ kim@example.net=kim/ }}
virtual_minimum_uid = 1
virtual_uid_maps = static:{uid}
virtual_gid_maps = static:{gid}
smtpd_relay_restrictions = permit_mynetworks, reject
smtpd_tls_received_header = yes
notify_classes =
"""
MASTER = """{grey} inet n - n - - smtpd
  -o smtpd_recipient_restrictions=check_policy_service,inet:127.0.0.1:{policy}
{closed} inet n - n - - smtpd
  -o smtpd_tls_security_level=encrypt -o smtpd_tls_cert_file={folder}/good.pem
{wrong} inet n - n - - smtpd
  -o smtpd_tls_security_level=encrypt -o smtpd_tls_cert_file={folder}/wrong.pem
cleanup unix n - n - 0 cleanup
qmgr unix n - n 300 1 qmgr
rewrite unix - - n - - trivial-rewrite
bounce unix - - n - 0 bounce
defer unix - - n - 0 bounce
trace unix - - n - 0 bounce
virtual unix - n n - - virtual
error unix - - n - - error
retry unix - - n - - error
anvil unix - - n - 1 anvil
tlsmgr unix - - n 1000? 1 tlsmgr
postlog unix-dgram n - n - 1 postlogd
"""


def missing():
    """Why these servers cannot run here; empty when they can."""
    if os.geteuid() != 0:
        return "postfix needs root"
    return ", ".join(path + " is not there" for path in NEEDED if not os.path.exists(path))


class GreyList(socketserver.StreamRequestHandler):
    """Postfix's policy protocol: each recipient is put off once."""

    def handle(self):
        fields = {}
        for line in self.rfile:
            name, _, value = line.decode().strip().partition("=")
            fields[name] = value
            if name:
                continue
            first = fields["recipient"] not in self.server.seen
            self.server.seen.append(fields["recipient"])
            self.wfile.write(b"action=450 4.7.1 Greylisted, come again\n\n" if first else b"action=dunno\n\n")
            fields = {}


class Postfix:
    def __init__(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="ebbwatch-postfix-"))
        self.folder.chmod(0o755)
        self.policy = socketserver.ThreadingTCPServer(("127.0.0.1", 0), GreyList)
        self.policy.daemon_threads, self.policy.seen = True, []
        threading.Thread(target=self.policy.serve_forever, daemon=True).start()
        self.grey, self.closed, self.wrong = free_port(), free_port(), free_port()
        account = subprocess.run(["id", "-u", "postfix"], capture_output=True, text=True, check=True).stdout
        group = subprocess.run(["id", "-g", "postfix"], capture_output=True, text=True, check=True).stdout
        for name in ("queue", "data", "mail"):
            (self.folder / name).mkdir()
        for name in ("data", "mail"):
            shutil.chown(self.folder / name, "postfix", "postfix")
        self.certificate("good", "DNS:localhost,IP:127.0.0.1")
        self.certificate("wrong", "DNS:somewhere-else.example.net")
        values = dict(folder=self.folder, uid=account.strip(), gid=group.strip(), grey=self.grey,
                      closed=self.closed, wrong=self.wrong, policy=self.policy.server_address[1])
        (self.folder / "main.cf").write_text(MAIN.format(**values))
        (self.folder / "master.cf").write_text(MASTER.format(**values))
        self.call("start")

    def certificate(self, name, names):
        """Signed by itself, with its key in the same file; `NAME.crt` is what a client may trust."""
        key, crt = self.folder / (name + ".key"), self.folder / (name + ".crt")
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
                        "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=" + names,
                        "-keyout", key, "-out", crt], capture_output=True, check=True)
        (self.folder / (name + ".pem")).write_text(key.read_text() + crt.read_text())

    def call(self, word):
        done = subprocess.run(["/usr/sbin/postfix", "-c", self.folder, word], capture_output=True, text=True)
        if done.returncode != 0 and word == "start":
            raise AssertionError("postfix does not start: " + done.stderr + self.log())

    def log(self):
        path = self.folder / "log"
        return path.read_text() if path.exists() else ""

    def mailbox(self, person):
        return [path.read_bytes() for path in sorted((self.folder / "mail" / person / "new").glob("*"))]

    def stop(self):
        self.call("stop")
        self.policy.shutdown()
        self.policy.server_close()
        shutil.rmtree(self.folder, ignore_errors=True)


KANNEL = """group = core
admin-port = {admin}
admin-interface = 127.0.0.1
admin-password = test
smsbox-port = {box}
smsbox-interface = 127.0.0.1
box-allow-ip = 127.0.0.1
dlr-storage = internal

group = smsc
smsc = fake
smsc-id = fake1
port = {network}
connect-allow-ip = 127.0.0.1

group = smsbox
bearerbox-host = 127.0.0.1
sendsms-port = {send}
sendsms-interface = 127.0.0.1
global-sender = 15550100

group = sendsms-user
username = tanks
password = open-sesame
concatenation = true
max-messages = 4

group = sms-service
keyword = default
get-url = "{replies}?from=%p&text=%a"
max-messages = 1
"""


class Kannel:
    """@param replies where texts that people send are passed on."""

    def __init__(self, replies):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="ebbwatch-kannel-"))
        self.ports = {name: free_port() for name in ("admin", "box", "network", "send")}
        self.send = self.ports["send"]
        self.file = self.folder / "kannel.conf"
        self.file.write_text(KANNEL.format(replies=replies, **self.ports))
        self.running, self.phones = [], None
        self.start("/usr/sbin/bearerbox", "-v", "1", self.file, output="bearerbox")
        wait_until(lambda: self.listens("network") and self.listens("box"), "bearerbox")
        self.start("/usr/sbin/smsbox", "-v", "1", self.file, output="smsbox")
        wait_until(lambda: self.listens("send"), "smsbox")

    def listens(self, name):
        wanted = f":{self.ports[name]:04X} "
        lines = pathlib.Path("/proc/net/tcp").read_text().splitlines()
        return any(wanted in line and line.split()[3] == "0A" for line in lines)

    def start(self, *command, output):
        with open(self.folder / output, "ab") as file:
            self.running.append(subprocess.Popen([str(c) for c in command], stdout=file, stderr=file,
                                                 cwd=self.folder))
        return self.running[-1]

    def open_network(self, *texts):
        """People's phones: takes what is sent to them, and sends these texts, "FROM TO text WORDS"."""
        count = len(texts)
        self.phones = self.start("/usr/lib/kannel/test/fakesmsc", "-H", "127.0.0.1", "-r", self.ports["network"],
                                 "-m", count, *(texts or ("1 2 text x",)), output="network")

    def close_network(self):
        self.phones.terminate()
        self.phones.wait(10)

    def received(self):
        path = self.folder / "network"
        return path.read_text(errors="replace") if path.exists() else ""

    def stop(self):
        for process in reversed(self.running):
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
        end = time.monotonic() + 2
        for process in self.running:
            try:
                process.wait(max(0.1, end - time.monotonic()))
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)
