#!/usr/bin/python3
"""An SMTP server on loopback that behaves as it is told, for tests of the e-mail notifier.

Prints "listening PORT" once it accepts connections. Every message that arrives becomes one line of
JSON in the file named by --log, as Python's own mail parser understood it, with its defects.
"""
import argparse
import asyncio
import email
import email.policy
import json
import ssl

from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

FOREVER_S = 3600
BEHAVIOURS = (
    "accept", "refuse", "later", "later_once", "hang", "hang_up", "slow",
    "refuse_text", "later_text", "too_many_recipients", "hang_at_recipient", "hang_after_text",
    "hang_up_after_text", "hang_at_quit", "refuse_and_hang_at_quit")


def described(raw):
    message = email.message_from_bytes(raw, policy=email.policy.default)
    defects = [repr(d) for d in message.defects]
    for header in message.values():
        defects += [repr(d) for d in getattr(header, "defects", ())]
    body = message.get_content().replace("\r\n", "\n")
    lines = raw.decode("ascii", "replace").split("\r\n")
    return {
        "defects": defects,
        "id": str(message["Message-ID"]).strip("<>").split("@")[0],
        "headers": {name: str(value) for name, value in message.items()},
        "header_count": len(message.items()),
        "text": body,
        "text_columns": max(map(len, body.split("\n"))),
        "raw_columns": max(map(len, lines)),
        "bare_line_ends": raw.replace(b"\r\n", b"").count(b"\n") + raw.replace(b"\r\n", b"").count(b"\r"),
        "ascii": raw.isascii(),
    }


class Handler:
    def __init__(self, behaviour, log):
        self.behaviour, self.log, self.recipients = behaviour, log, 0

    async def handle_MAIL(self, server, session, envelope, address, options):
        if self.behaviour == "slow":
            await asyncio.sleep(0.3)
        envelope.mail_from = address
        envelope.mail_options.extend(options)
        return "250 OK"

    async def handle_RCPT(self, server, session, envelope, address, options):
        self.recipients += 1
        if self.behaviour in ("refuse", "refuse_and_hang_at_quit"):
            return "550 5.1.1 no such mailbox here"
        if self.behaviour == "later" or self.behaviour == "later_once" and self.recipients == 1:
            return "450 4.2.1 mailbox is busy, try again"
        if self.behaviour == "too_many_recipients":
            return "552 too many recipients"
        if self.behaviour == "hang_at_recipient":
            await asyncio.sleep(FOREVER_S)
        if self.behaviour == "hang_up":
            server.transport.abort()
            return "250 nobody reads this"
        if self.behaviour == "slow":
            await asyncio.sleep(0.3)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if self.behaviour == "refuse_text":
            return "554 5.7.1 not this text"
        if self.behaviour == "later_text":
            return "451 4.3.0 local error"
        entry = described(envelope.original_content)
        entry.update(sender=envelope.mail_from, recipients=envelope.rcpt_tos, helo=session.host_name,
                     encrypted=server.transport.get_extra_info("sslcontext") is not None, authenticated=bool(session.authenticated))
        with open(self.log, "a", encoding="utf-8") as log:
            log.write(json.dumps(entry) + "\n")
        if self.behaviour == "hang_after_text":
            await asyncio.sleep(FOREVER_S)
        if self.behaviour == "hang_up_after_text":
            server.transport.abort()
        return "250 2.0.0 kept"

    async def handle_QUIT(self, server, session, envelope):
        if self.behaviour.endswith("hang_at_quit"):
            await asyncio.sleep(FOREVER_S)
        return "221 bye"


async def say_nothing(reader, writer):
    await asyncio.sleep(FOREVER_S)


def authenticator(user, password):
    def check(server, session, envelope, mechanism, data):
        good = isinstance(data, LoginPassword) and \
            (data.login, data.password) == (user.encode(), password.encode())
        return AuthResult(success=good, handled=False)
    return check


def smtp_options(options):
    out = {"hostname": "mail.example.net", "enable_SMTPUTF8": False}
    if options.certificate and not options.implicit_tls:
        out.update(tls_context=tls_context(options), require_starttls=options.require_starttls)
    if options.user:
        out.update(auth_required=True, auth_require_tls=False,
                   authenticator=authenticator(options.user, options.password))
    return out


def tls_context(options):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(options.certificate, options.key)
    return context


async def serve(options):
    loop = asyncio.get_running_loop()
    if options.behaviour == "hang":
        server = await asyncio.start_server(say_nothing, "127.0.0.1", 0)
    else:
        handler = Handler(options.behaviour, options.log)
        server = await loop.create_server(
            lambda: SMTP(handler, **smtp_options(options)), "127.0.0.1", 0,
            ssl=tls_context(options) if options.implicit_tls else None)
    print("listening", server.sockets[0].getsockname()[1], flush=True)
    await server.serve_forever()


parser = argparse.ArgumentParser(description=__doc__)
parser.add_argument("--behaviour", choices=BEHAVIOURS, default="accept")
parser.add_argument("--log", required=True)
parser.add_argument("--certificate")
parser.add_argument("--key")
parser.add_argument("--implicit-tls", action="store_true")
parser.add_argument("--require-starttls", action="store_true")
parser.add_argument("--user")
parser.add_argument("--password")
asyncio.run(serve(parser.parse_args()))
