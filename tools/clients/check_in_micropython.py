# Check-ins from a board with MicroPython, as signed datagrams. It needs no clock: the watcher's
# answer brings an echo, and returning it proves that the next datagram is new.
# Connect the board to its network first, then: CheckIn(HOST, PORT, CONTROLLER, KEY).send("power=mains")
import hashlib
import socket
import time

try:
    from ubinascii import hexlify
except ImportError:  # Ordinary Python.
    from binascii import hexlify


def hmac_sha256(key, text):
    """RFC 2104; MicroPython has no hmac of its own."""
    if len(key) > 64:
        key = hashlib.sha256(key).digest()
    key = key + bytes(64 - len(key))
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in key) + text).digest()
    return hashlib.sha256(bytes(b ^ 0x5C for b in key) + inner).digest()


class CheckIn:
    def __init__(self, host, port, controller, key):
        self.address = socket.getaddrinfo(host, port)[0][-1]
        self.controller, self.key = controller, key.encode()
        self.seq, self.echo, self.started = 0, "-", time.time()

    def sealed(self, text):
        return text + b" " + hexlify(hmac_sha256(self.key, text))[:32]

    def ask(self, pairs):
        self.seq += 1
        text = "EBB1 %s %d - %s %s" % (self.controller, self.seq, self.echo, pairs or "-")
        sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        try:
            sender.settimeout(3)
            sender.sendto(self.sealed(text.encode()), self.address)
            answer = sender.recv(512)
        except OSError:
            return False
        finally:
            sender.close()
        text = answer[:-33]
        if not text.startswith(b"EBB1 ok ") or self.sealed(text) != answer:
            return False
        self.echo = text[8:].decode()
        return True

    def send(self, pairs=""):
        """Whether it was taken. The first one only fetches an echo, so that it is sent twice; the
        same when an answer was lost."""
        had_echo = self.echo != "-"
        pairs = "uptime_s=%d" % (time.time() - self.started) + ("," + pairs if pairs else "")
        if self.ask(pairs) and had_echo:
            return True
        return self.ask(pairs)
