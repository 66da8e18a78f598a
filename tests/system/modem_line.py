"""A modem on a pseudo-terminal (tests/counterparts/modem.py) for tests with the real daemon: what it
sent, and texts that come in to it."""
import json
import os
import pathlib
import subprocess
import sys

COUNTERPARTS = pathlib.Path(__file__).resolve().parent.parent / "counterparts"


def swapped(digits):
    """Semi-octets, 3GPP TS 23.040 section 9.1.2.3."""
    digits += "F" * (len(digits) % 2)
    return "".join(digits[at + 1] + digits[at] for at in range(0, len(digits), 2))


def packed(text):
    """Letters, digits and blanks have the same codes in the GSM alphabet and in ASCII."""
    bits = sum(ord(letter) << 7 * place for place, letter in enumerate(text))
    return bits.to_bytes((7 * len(text) + 7) // 8, "little")


def deliver_pdu(sender, text):
    """An SMS-DELIVER with its service centre's address, from an international number."""
    digits = sender.lstrip("+")
    number = f"{len(digits):02X}91" + swapped(digits)
    stamp = swapped("261125200000") + "00"
    return "07911555010000F0" + "04" + number + "0000" + stamp + f"{len(text):02X}" + packed(text).hex().upper()


class ModemLine:
    def __init__(self, folder, behaviour="accept", options=(), manners=False):
        self.folder = pathlib.Path(folder)
        self.manner = self.folder / "modem.manner" if manners else None
        self.device, self.log, self.inbox = (self.folder / name for name in ("modem", "modem.log", "inbox"))
        self.behaviour, self.options, self.process = behaviour, list(options), None
        self.log.touch()

    def start(self):
        words = [word for option in self.options for word in ("--option", option)]
        self.process = subprocess.Popen(
            [sys.executable, COUNTERPARTS / "modem.py", "--link", self.device, "--log", self.log, "--inbox", self.inbox,
             "--behaviour", self.behaviour, *(["--manners", self.manner] if self.manner else []), *words], stdout=subprocess.PIPE)
        assert self.process.stdout.readline() == b"ready\n"
        return self

    def stop(self):
        if self.process:
            self.process.kill()
            self.process.wait()
            self.process.stdout.close()
            self.process = None
            self.device.unlink(missing_ok=True)

    def manners(self, word):
        """How it behaves from the next text on. Only where it was made for that."""
        beside = self.manner.with_suffix(".new")
        beside.write_text(word)
        beside.replace(self.manner)

    def behave(self, behaviour):
        """The same modem, pulled out and put in again with other manners."""
        self.stop()
        self.behaviour = behaviour
        self.inbox.unlink(missing_ok=True)
        self.start()

    def sent(self):
        return [entry for entry in map(json.loads, self.log.read_text(encoding="utf-8").splitlines())
                if "text" in entry]

    def text_in(self, sender, text):
        with open(self.inbox, "a", encoding="ascii") as inbox:
            inbox.write(deliver_pdu(sender, text) + "\n")
            inbox.flush()
            os.fsync(inbox.fileno())
