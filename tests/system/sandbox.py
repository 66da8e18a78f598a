#!/usr/bin/python3
"""Runs a command under the restrictions of a unit file, as far as that can be done without systemd: mount
and user namespaces, no capabilities, a filter of system calls (the groups are asked of systemd-analyze
itself). Every key of [Service] must be known here, so that a unit that is tightened or opened cannot be
tested by an older idea of it. What needs control groups (DeviceAllow=, TasksMax=) is left out: devices are
then missing from /dev altogether. Needs root and Debian's python3-seccomp.

  sandbox.py --unit FILE [--unit DROP-IN]… --user N --state FOLDER [--credential NAME=FILE]… -- COMMAND…"""
import argparse
import ctypes
import errno
import os
import pathlib
import resource
import socket
import stat
import subprocess
import sys

import seccomp

# From linux/sched.h, linux/mount.h, linux/prctl.h, linux/stat.h (from memory).
CLONE_NEWNS, CLONE_NEWUTS, CLONE_NEWUSER = 0x00020000, 0x04000000, 0x10000000
CLONE_ANY_NEW = 0x7E020080
MS_RDONLY, MS_NOSUID, MS_NODEV, MS_NOEXEC, MS_BIND, MS_MOVE, MS_REC, MS_PRIVATE = 1, 2, 4, 8, 4096, 8192, 16384, 1 << 18
MOUNT_SETATTR, AT_FDCWD, AT_RECURSIVE, ATTR_RDONLY, ATTR_NOSUID = 442, -100, 0x8000, 1, 2
PR_SET_NO_NEW_PRIVS, PR_CAPBSET_DROP = 38, 24
PROT_WRITE, PROT_EXEC, SHM_EXEC = 2, 4, 0o100000
SET_ID_BITS = 0o6000

# How the process is started and ended, and who may talk about it: no restrictions.
MANAGER = {"Type", "NotifyAccess", "ExecStart", "ExecReload", "WatchdogSec", "Restart", "RestartSec",
           "RestartPreventExitStatus", "TimeoutStopSec", "User", "Group", "StateDirectory", "StateDirectoryMode"}
# Done by control groups, by the manager itself, or by the system call filter below whatever the key says.
ELSEWHERE = {"DevicePolicy", "DeviceAllow", "TasksMax", "KeyringMode", "RemoveIPC", "ProtectHostname",
             "ProtectClock", "ProtectKernelModules", "ProtectKernelLogs", "SystemCallArchitectures",
             "SupplementaryGroups"}
HERE = {"UMask", "NoNewPrivileges", "CapabilityBoundingSet", "AmbientCapabilities", "RestrictSUIDSGID",
        "ProtectSystem", "ProtectHome", "PrivateTmp", "PrivateDevices", "PrivateMounts", "PrivateUsers",
        "ProtectKernelTunables", "ProtectControlGroups", "ProtectProc", "ProcSubset", "RestrictAddressFamilies",
        "RestrictNamespaces", "RestrictRealtime", "LockPersonality", "MemoryDenyWriteExecute",
        "SystemCallFilter", "SystemCallErrorNumber", "LimitCORE", "LimitNOFILE"}

libc = ctypes.CDLL(None, use_errno=True)
LAST_CAPABILITY = int(pathlib.Path("/proc/sys/kernel/cap_last_cap").read_text())  # Not there later.


def call(name, *arguments):
    if getattr(libc, name)(*arguments) != 0:
        number = ctypes.get_errno()
        raise OSError(number, f"{name}{arguments}: {os.strerror(number)}")


def mount(source, target, kind=None, flags=0, data=None):
    call("mount", *(None if text is None else str(text).encode() for text in (source, target, kind)),
         ctypes.c_ulong(flags), None if data is None else data.encode())


def set_attributes(path, flags, switch_on=0, switch_off=0):
    attributes = (ctypes.c_uint64 * 4)(switch_on, switch_off, 0, 0)
    if libc.syscall(MOUNT_SETATTR, AT_FDCWD, str(path).encode(), flags, attributes, ctypes.sizeof(attributes)) != 0:
        raise OSError(ctypes.get_errno(), f"mount_setattr {path}")


class Unit:
    """The keys of [Service] of a unit and its drop-ins, in their order."""

    def __init__(self, files):
        self.values = {}
        for file in files:
            section = ""
            for line in pathlib.Path(file).read_text().splitlines():
                if line.startswith("["):
                    section = line
                elif section == "[Service]" and "=" in line and not line.startswith("#"):
                    key, value = line.split("=", 1)
                    self.values.setdefault(key, []).append(value.strip())
        unknown = set(self.values) - MANAGER - ELSEWHERE - HERE
        if unknown:
            sys.exit(f"sandbox.py does not know {', '.join(sorted(unknown))}; teach it how to apply that")

    def last(self, key):
        return self.values.get(key, [""])[-1]

    def is_on(self, key):
        return self.last(key) in ("yes", "true", "strict", "invisible", "pid")

    def words(self, key):
        return " ".join(self.values.get(key, [])).split()


def members(group):
    said = subprocess.run(["systemd-analyze", "--no-pager", "syscall-filter", group], check=True,
                          capture_output=True, text=True).stdout
    found = set()
    for line in said.splitlines()[1:]:
        word = line.strip()
        if word.startswith("@"):
            found |= members(word)
        elif word and not word.startswith("#"):
            found.add(word)
    return found


def allowed_calls(unit):
    """systemd.exec(5): the first line makes it a list of what is allowed; `~` takes away."""
    allowed = set()
    for value in unit.values["SystemCallFilter"]:
        named = set()
        for word in value.lstrip("~").split():
            named |= members(word) if word.startswith("@") else {word}
        allowed = allowed - named if value.startswith("~") else allowed | named
    return allowed


def make_filter(unit):
    allowed = allowed_calls(unit)
    rules = seccomp.SyscallFilter(seccomp.ERRNO(getattr(errno, unit.last("SystemCallErrorNumber"))))
    masked = lambda place, mask, value=0: seccomp.Arg(place, seccomp.MASKED_EQ, mask, value)
    special = {}  # Call: alternatives, each a list of what must hold.
    special["socket"] = [[seccomp.Arg(0, seccomp.EQ, getattr(socket, family))]
                         for family in unit.words("RestrictAddressFamilies")]
    if unit.is_on("RestrictNamespaces"):
        special["clone"] = [[masked(0, CLONE_ANY_NEW)]]
        special["clone3"] = special["unshare"] = special["setns"] = []
    if unit.is_on("MemoryDenyWriteExecute"):
        special["mmap"] = [[masked(2, PROT_WRITE)], [masked(2, PROT_EXEC)]]
        special["mprotect"] = special["pkey_mprotect"] = [[masked(2, PROT_EXEC)]]
        special["shmat"] = [[masked(2, SHM_EXEC)]]
    if unit.is_on("RestrictSUIDSGID"):
        special["chmod"] = special["fchmod"] = [[masked(1, SET_ID_BITS)]]
        special["fchmodat"] = special["mkdirat"] = [[masked(2, SET_ID_BITS)]]
        special["mkdir"] = special["creat"] = [[masked(1, SET_ID_BITS)]]
        special["openat"] = [[masked(2, os.O_CREAT)], [masked(3, SET_ID_BITS)]]
        special["open"] = [[masked(1, os.O_CREAT)], [masked(2, SET_ID_BITS)]]
    if unit.is_on("LockPersonality"):
        special["personality"] = [[seccomp.Arg(0, seccomp.EQ, 0)]]
    for name in sorted(allowed):
        if seccomp.resolve_syscall(seccomp.Arch(), name) < 0:
            continue  # Of another processor.
        for conditions in special.get(name, [[]]):
            rules.add_rule(seccomp.ALLOW, name, *conditions)
    rules.add_rule(seccomp.ERRNO(errno.ENOSYS), "clone3")  # So that libraries take clone() instead.
    return rules


def make_devices(folder):
    """The nodes that PrivateDevices=yes leaves."""
    staged = folder / "dev"
    staged.mkdir(exist_ok=True)
    mount("tmpfs", staged, "tmpfs", MS_NOSUID | MS_NOEXEC, "mode=755")
    os.umask(0)
    for name, major, minor in (("null", 1, 3), ("zero", 1, 5), ("full", 1, 7), ("random", 1, 8), ("urandom", 1, 9),
                               ("tty", 5, 0)):
        os.mknod(staged / name, stat.S_IFCHR | 0o666, os.makedev(major, minor))
    (staged / "fd").symlink_to("/proc/self/fd")
    (staged / "shm").mkdir(mode=0o1777)
    mount(staged, "/dev", None, MS_MOVE)


def make_credentials(folder, user, credentials):
    """As LoadCredential= gives them: a folder in memory that only the service can read."""
    place = folder / "credentials"
    place.mkdir(exist_ok=True)
    contents = {name: pathlib.Path(file).read_bytes() for name, file in credentials}
    mount("tmpfs", place, "tmpfs", MS_NOSUID | MS_NODEV | MS_NOEXEC, f"mode=500,uid={user}")
    for name, content in contents.items():
        file = place / name
        file.write_bytes(content)
        os.chown(file, user, user)
        file.chmod(0o400)
    os.environ["CREDENTIALS_DIRECTORY"] = str(place)


def make_mounts(unit, options):
    call("unshare", CLONE_NEWNS | CLONE_NEWUTS)
    mount(None, "/", None, MS_REC | MS_PRIVATE)
    folder = options.state.parent
    make_credentials(folder, options.user, options.credential)
    writable = [options.state]
    mount(options.state, options.state, None, MS_BIND)
    if unit.is_on("PrivateTmp"):
        for place in ("/tmp", "/var/tmp"):
            mount("tmpfs", place, "tmpfs", MS_NOSUID | MS_NODEV, "mode=1777")
            writable.append(place)
    if unit.is_on("ProtectHome"):
        for place in filter(os.path.isdir, ("/home", "/root", "/run/user")):
            mount("tmpfs", place, "tmpfs", MS_NOSUID | MS_NODEV, "mode=000")
    if unit.is_on("PrivateDevices"):
        make_devices(folder)
    hidden = [word for key, word in (("ProtectProc", "hidepid=invisible"), ("ProcSubset", "subset=pid"))
              if unit.is_on(key)]
    mount("proc", "/proc", "proc", MS_NOSUID | MS_NODEV | MS_NOEXEC, ",".join(hidden))
    if unit.last("ProtectSystem") == "strict":
        set_attributes("/", AT_RECURSIVE, ATTR_RDONLY | ATTR_NOSUID)
        for place in (*writable, "/proc"):  # Which has no settings of the kernel left, see subset=pid.
            set_attributes(place, 0, 0, ATTR_RDONLY)


def enter_user_namespace(user):
    """Root and the service's user as themselves, everybody else as nobody."""
    told, tell = os.pipe()
    own = os.getpid()
    helper = os.fork()
    if helper == 0:
        os.close(tell)
        os.read(told, 1)
        for kind in ("uid", "gid"):
            pathlib.Path(f"/proc/{own}/{kind}_map").write_text(f"0 0 1\n{user} {user} 1\n")
        os._exit(0)
    os.close(told)
    call("unshare", CLONE_NEWUSER)
    os.write(tell, b"x")
    os.close(tell)
    if os.waitpid(helper, 0)[1] != 0:
        sys.exit("the users could not be mapped")


def give_up_rights(unit, user):
    for number in range(LAST_CAPABILITY + 1):
        call("prctl", PR_CAPBSET_DROP, number, 0, 0, 0)
    os.setgroups([])
    os.setresgid(user, user, user)
    os.setresuid(user, user, user)
    if unit.is_on("NoNewPrivileges"):
        call("prctl", PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--unit", action="append", required=True)
    options.add_argument("--user", type=int, required=True)
    options.add_argument("--state", type=pathlib.Path, required=True)
    options.add_argument("--credential", action="append", default=[], type=lambda text: text.split("=", 1))
    options.add_argument("command", nargs="+")
    options = options.parse_args()
    unit = Unit(options.unit)
    rules = make_filter(unit)
    make_mounts(unit, options)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    files = int(unit.last("LimitNOFILE"))
    resource.setrlimit(resource.RLIMIT_NOFILE, (files, files))
    if unit.is_on("PrivateUsers"):
        enter_user_namespace(options.user)
    give_up_rights(unit, options.user)
    os.umask(int(unit.last("UMask"), 8))
    os.chdir("/")
    rules.load()
    os.execv(options.command[0], options.command)


if __name__ == "__main__":
    main()
