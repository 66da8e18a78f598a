#!/usr/bin/python3
"""A GSM modem on a pseudo-terminal for tests, as 3GPP TS 27.005 and 27.007 have it.

usage: modem.py --link PATH --log FILE [--behaviour WORD] [--option WORD]... [--inbox FILE] [--manners FILE]

Prints "ready" when PATH leads to the terminal. Behaviours decide what becomes of texts:
  accept; refuse (CMS 28); later (CMS 331); hang (no prompt); hang_after_text (no answer after Ctrl-Z);
  hang_up (the device vanishes at Ctrl-Z, once, and comes back a second later); slow; twice (every final answer
  comes two times); deaf (says nothing at all); cms:N (that error)
Options: echo_stays, no_pdu, no_ucs2, pin:1234, puk, no_sim, searching, refused_by_network, lte_only, noise
With --manners the file's word is the behaviour of each text as it begins.
Texts are written to the log, one JSON line each, decoded here with code of its own. Lines of the inbox
file are PDUs (PDU mode) that have come in; they are announced by +CMTI as they appear, listed, and deleted.
"""
import argparse
import json
import os
import pty
import select
import time
import tty

BASIC = ("@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZ"
         "ÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà")
EXTENSION = {0x14: "^", 0x28: "{", 0x29: "}", 0x2F: "\\", 0x3C: "[", 0x3D: "~", 0x3E: "]", 0x40: "|", 0x65: "€"}


def septets(data, first, end):
    bits = int.from_bytes(data, "little")
    text, escaped = "", False
    for place in range(first, end):
        code = bits >> 7 * place & 0x7F
        if code == 0x1B:
            escaped = True
            continue
        text += EXTENSION[code] if escaped else BASIC[code]
        escaped = False
    return text


def decode_submit(pdu, octets):
    data = bytes.fromhex(pdu)
    data = data[1 + data[0]:]
    if len(data) != octets:
        raise ValueError("wrong length")
    if data[0] & 3 != 1:
        raise ValueError("no submit")
    count = data[2]
    number = data[4:4 + (count + 1) // 2]
    digits = "".join(f"{octet & 15:x}{octet >> 4:x}" for octet in number)[:count]
    rest = data[4 + len(number):]
    coding = rest[1]
    rest = rest[3 if data[0] & 0x18 == 0x10 else 2:]
    length, body = rest[0], rest[1:]
    header = body[:body[0] + 1] if data[0] & 0x40 else b""
    if coding == 8:
        text = body[len(header):length].decode("utf-16-be")
    else:
        text = septets(body, (len(header) * 8 + 6) // 7, length)
    part, parts, reference = (header[5], header[4], header[3]) if header else (1, 1, None)
    return {"to": ("+" if data[3] == 0x91 else "") + digits, "text": text, "coding": coding, "part": part,
            "parts": parts, "joined": reference}


class Modem:
    def __init__(self, options):
        self.options, self.words = options, set(options.option)
        self.behaviour = options.behaviour
        self.pin = next((word[4:] for word in self.words if word.startswith("pin:")), None)
        self.inbox, self.seen, self.next_index = {}, 0, 1
        self.sent = 0
        self.vanished = False
        self.open()

    def open(self):
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        # A link beside, then moved over: nobody ever sees half of it.
        os.symlink(os.ttyname(self.slave), self.options.link + ".new")
        os.replace(self.options.link + ".new", self.options.link)
        self.echo, self.pdu, self.letters, self.entry, self.line = True, False, "IRA", None, b""

    def vanish(self):
        os.unlink(self.options.link)
        os.close(self.master)
        os.close(self.slave)
        time.sleep(1)
        self.open()

    def write(self, text):
        os.write(self.master, text.encode("latin-1", "replace"))

    def final(self, text):
        if "noise" in self.words:
            self.write("\r\n^RSSI:17\r\n\r\nRING\r\n")
        self.write(f"\r\n{text}\r\n" * (2 if self.behaviour == "twice" else 1))

    def log(self, entry):
        with open(self.options.log, "a", encoding="utf-8") as log:
            log.write(json.dumps(entry, ensure_ascii=False) + "\n")

    def wide(self, text):
        return bytes.fromhex(text).decode("utf-16-be") if self.letters == "UCS2" else text

    def text_came(self):
        target, body, self.entry, self.line = self.entry, self.line.decode("latin-1"), None, b""
        try:
            if self.pdu:
                entry = decode_submit(body.strip(), int(target))
            else:
                entry = {"to": self.wide(target.strip('"')), "text": self.wide(body), "part": 1, "parts": 1}
        except (ValueError, IndexError, KeyError) as problem:
            self.log({"bad": str(problem)})
            return self.final("+CMS ERROR: 304")
        self.sent += 1
        if self.behaviour == "hang_up" and not self.vanished:
            self.vanished = True
            return self.vanish()
        errors = {"refuse": 28, "later": 331}
        if self.behaviour.startswith("cms:"):
            errors[self.behaviour] = int(self.behaviour[4:])
        if self.behaviour in errors:
            return self.final(f"+CMS ERROR: {errors[self.behaviour]}")
        self.log({"id": entry["text"].split(" ")[0], "at": time.time(), "behaviour": self.behaviour, **entry})
        if self.behaviour == "hang_after_text":
            return None
        if self.behaviour == "slow":
            time.sleep(0.5)
        return self.final(f"+CMGS: {self.sent % 256}\r\n\r\nOK")

    def answer(self, command):
        """The information before the final word, and that word."""
        words = self.words
        if command == "AT+CPIN?":
            if "no_sim" in words:
                return "", "+CME ERROR: 10"
            state = "SIM PUK" if "puk" in words else "SIM PIN" if self.pin else "READY"
            return "+CPIN: " + state, "OK"
        if command.startswith("AT+CPIN="):
            self.log({"pin": command[8:].strip('"')})
            if command[8:].strip('"') != self.pin:
                return "", "+CME ERROR: 16"
            self.pin = None
            return "", "OK"
        if command == "AT+CREG?":
            state = 2 if "searching" in words else 3 if words & {"refused_by_network", "lte_only"} else 1
            return f"+CREG: 0,{state}", "OK"
        if command == "AT+CEREG?":
            return f"+CEREG: 0,{1 if 'lte_only' in words else 2}", "OK"
        if command == "AT+CSQ":
            return "+CSQ: 20,99", "OK"
        if command in ("AT+CMGF=0", "AT+CMGF=1"):
            if command.endswith("0") and "no_pdu" in words:
                return "", "ERROR"
            self.pdu = command.endswith("0")
            return "", "OK"
        if command.startswith("AT+CSCS="):
            if "UCS2" in command and "no_ucs2" in words:
                return "", "ERROR"
            self.letters = command[8:].strip('"')
            return "", "OK"
        if command.startswith("AT+CMGL="):
            return "\r\n".join(f"+CMGL: {index},1,,{len(pdu) // 2 - 8}\r\n{pdu}" for index, pdu in self.inbox.items()), "OK"
        if command.startswith("AT+CMGD="):
            self.log({"deleted": self.inbox.pop(int(command[8:]), None)})
            return "", "OK"
        if command in ("AT", "ATE0", "AT+CMEE=1") or command.startswith(("AT+CNMI=", "AT+CSMP=")):
            if command == "ATE0" and "echo_stays" not in words:
                self.echo = False
            return "", "OK"
        return "", "ERROR"

    def command(self, command):
        if command.startswith("AT+CMGS="):
            if self.options.manners and os.path.exists(self.options.manners):
                with open(self.options.manners, encoding="ascii") as manners:
                    self.behaviour = manners.read().strip() or self.behaviour
            if self.behaviour == "hang":
                return
            self.entry = command[8:]
            self.write("\r\n> ")
            return
        information, final = self.answer(command)
        self.final((information + "\r\n\r\n" if information else "") + final)

    def take(self, byte):
        if self.behaviour == "deaf":
            return
        if self.echo:
            os.write(self.master, byte)
        if self.entry is not None and byte == b"\x1a":
            self.text_came()
        elif byte == b"\x1b":
            self.entry, self.line = None, b""
        elif self.entry is None and byte == b"\r":
            line, self.line = self.line.decode("latin-1").strip(), b""
            if line:
                self.command(line)
        else:
            self.line += byte

    def look_for_texts(self):
        if not self.options.inbox or not os.path.exists(self.options.inbox):
            return
        with open(self.options.inbox, encoding="ascii") as inbox:
            lines = inbox.read().split()
        for pdu in lines[self.seen:]:
            self.inbox[self.next_index] = pdu
            self.write(f'\r\n+CMTI: "SM",{self.next_index}\r\n')
            self.next_index += 1
        self.seen = len(lines)

    def run(self):
        print("ready", flush=True)
        while True:
            master = self.master
            if select.select([master], [], [], 0.05)[0]:
                for byte in os.read(master, 512):
                    self.take(bytes([byte]))
                    if self.master != master:
                        break
            self.look_for_texts()


parser = argparse.ArgumentParser(description=__doc__)
parser.add_argument("--link", required=True)
parser.add_argument("--log", required=True)
parser.add_argument("--behaviour", default="accept")
parser.add_argument("--option", action="append", default=[])
parser.add_argument("--inbox")
parser.add_argument("--manners")
Modem(parser.parse_args()).run()
