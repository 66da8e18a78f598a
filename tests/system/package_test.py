#!/usr/bin/python3
"""The Debian package: built from the release build, installed, upgraded, removed and purged with dpkg in a
copy of this system that is thrown away (an overlay on /, in a mount namespace). The rules are those of the
Debian Policy Manual 4.6, chapters 6, 9.1 and 10.7 (from memory). And its documents: manual pages and
completion against what the commands themselves say. Needs root; the first part is skipped, and said so,
where overlays cannot be mounted."""
import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest

BIN = pathlib.Path(os.environ["EBBWATCH_BIN_DIR"])
BUILD = pathlib.Path(os.environ["EBBWATCH_BUILD_DIR"])
SOURCE = pathlib.Path(os.environ["EBBWATCH_SOURCE_DIR"])

IN_COPY = """
set -e
mkdir -p {work}/upper {work}/copy
mount -t tmpfs tmpfs {work}/upper
mkdir {work}/upper/changes {work}/upper/scratch
mount -t overlay overlay -o lowerdir=/,upperdir={work}/upper/changes,workdir={work}/upper/scratch {work}/copy
mount -t proc proc {work}/copy/proc
mount --bind {packages} {work}/copy/mnt
chroot {work}/copy /bin/sh -ec '{script}'
"""


def run(*command, **more):
    return subprocess.run(command, capture_output=True, text=True, timeout=300, **more)


def must(*command, **more):
    done = run(*command, **more)
    if done.returncode != 0:
        raise AssertionError(f"{command} gave {done.returncode}: {done.stdout}{done.stderr}")
    return done.stdout


class Copy:
    """This system, in which a script may change everything and nothing stays."""

    def __init__(self, packages):
        self.packages = packages

    def run(self, script):
        with tempfile.TemporaryDirectory() as work:
            return run("unshare", "--mount", "--propagation", "private", "/bin/sh", "-c",
                       IN_COPY.format(work=work, packages=self.packages, script=script.replace("'", "'\\''")))


class Package(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.old = cls.build("one")
        cls.copy = Copy(cls.folder)

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    @classmethod
    def build(cls, name):
        place = cls.folder / name
        must("cpack", "--config", str(BUILD / "CPackConfig.cmake"), "-B", str(place),
             env={**os.environ, "SOURCE_DATE_EPOCH": "1764000000"})
        return next(place.glob("*.deb"))

    def newer(self):
        """The same with a higher version and another sample, as an upgrade would bring."""
        tree = self.folder / "tree"
        must("dpkg-deb", "-R", str(self.old), str(tree))
        control = tree / "DEBIAN/control"
        control.write_text(re.sub(r"^Version: .*$", "Version: 99.0", control.read_text(), flags=re.M))
        sample = tree / "etc/ebbwatch/ebbwatch.yaml.sample"
        sample.write_text(sample.read_text() + "# newer\n")
        out = self.folder / "newer.deb"
        must("dpkg-deb", "--root-owner-group", "-b", str(tree), str(out))
        return out

    def in_copy(self, script):
        done = self.copy.run(script)
        if "mount" in done.stderr and "overlay" in done.stderr:
            self.skipTest("overlays cannot be mounted here: " + done.stderr.strip())
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        return done.stdout

    def test_everything_stands_where_the_hierarchy_wants_it(self):
        listed = must("dpkg-deb", "-c", str(self.old)).splitlines()
        files = {line.split()[5].lstrip("."): line.split()[:2] for line in listed}
        for name in ("/usr/bin/ebbwatch", "/usr/bin/ebbwatchd", "/usr/lib/systemd/system/ebbwatch.service",
                     "/etc/ebbwatch/ebbwatch.yaml.sample", "/usr/share/man/man1/ebbwatch.1",
                     "/usr/share/man/man8/ebbwatchd.8", "/usr/share/bash-completion/completions/ebbwatch",
                     "/usr/share/doc/ebbwatch/copyright", "/usr/share/doc/ebbwatch/drop-ins/modem.conf"):
            self.assertIn(name, files)
        for name, (mode, owner) in files.items():
            self.assertEqual(owner, "root/root", name)
            self.assertNotRegex(mode, r"^.....w|^........w|s", name)
            self.assertRegex(name, r"^/(usr|etc)?(/|$)", name)
        depends = must("dpkg-deb", "-f", str(self.old), "Depends")
        for library in ("libsqlite3-0", "libssl3", "libcurl4", "libmosquitto1"):
            self.assertIn(library, depends)
        self.assertEqual(must("dpkg-deb", "-I", str(self.old), "conffiles"), "/etc/ebbwatch/ebbwatch.yaml.sample\n")
        unit = must("sh", "-c", f"dpkg-deb --fsys-tarfile {self.old} | tar -xO ./usr/lib/systemd/system/ebbwatch.service")
        self.assertIn("ExecStart=/usr/bin/ebbwatchd --config /etc/ebbwatch/ebbwatch.yaml\n", unit)

    def test_the_same_build_gives_the_same_bytes(self):
        self.assertEqual(self.build("two").read_bytes(), self.old.read_bytes())

    def test_installs_and_runs(self):
        said = self.in_copy(f"""
            dpkg -i /mnt/one/{self.old.name}
            id -nG ebbwatch; stat -c "%U %a" /var/lib/ebbwatch
            ebbwatchd --version; ebbwatch --help >/dev/null
            dpkg --audit; dpkg -V ebbwatch""")
        self.assertIn("ebbwatch\nebbwatch 750\n", said)
        self.assertIn("write /etc/ebbwatch/ebbwatch.yaml", said)

    def test_an_upgrade_keeps_settings_record_and_an_edited_sample(self):
        newer = self.newer()
        said = self.in_copy(f"""
            dpkg -i /mnt/one/{self.old.name} >/dev/null
            echo "mine" >/etc/ebbwatch/ebbwatch.yaml
            echo "# edited" >>/etc/ebbwatch/ebbwatch.yaml.sample
            echo "record" >/var/lib/ebbwatch/ebbwatch.sqlite3
            number=$(id -u ebbwatch)
            dpkg --force-confold -i /mnt/{newer.name} >/dev/null 2>&1
            test "$number" = "$(id -u ebbwatch)"
            dpkg-query -s ebbwatch | grep "^Version:"
            cat /etc/ebbwatch/ebbwatch.yaml /var/lib/ebbwatch/ebbwatch.sqlite3
            tail -n 1 /etc/ebbwatch/ebbwatch.yaml.sample""")
        self.assertEqual(said, "Version: 99.0\nmine\nrecord\n# edited\n")

    def test_removing_keeps_what_is_the_owners_and_purging_leaves_nothing(self):
        said = self.in_copy(f"""
            dpkg -i /mnt/one/{self.old.name} >/dev/null
            echo "mine" >/etc/ebbwatch/ebbwatch.yaml
            echo "record" >/var/lib/ebbwatch/ebbwatch.sqlite3
            dpkg -r ebbwatch >/dev/null
            cat /etc/ebbwatch/ebbwatch.yaml /var/lib/ebbwatch/ebbwatch.sqlite3
            ls /etc/ebbwatch
            dpkg -P ebbwatch >/dev/null
            find /etc /usr /var -name "*ebbwatch*"
            dpkg-query -W ebbwatch 2>&1 || true""")
        self.assertEqual(said, "mine\nrecord\nebbwatch.yaml\nebbwatch.yaml.sample\n"
                               "dpkg-query: no packages found matching ebbwatch\n")


def commands():
    """Each command with its options, as --help has them."""
    text = must(str(BIN / "ebbwatch"), "--help").split("Subcommands:\n")[1]
    found = {}
    for name in re.findall(r"^  ([a-z-]+) ", text, re.M):
        said = must(str(BIN / "ebbwatch"), name, "--help")
        found[name] = set(re.findall(r"^  (?:-\w,)?--([a-z-]+)", said, re.M)) - {"help", "config"}
    return found


class Documents(unittest.TestCase):
    PAGES = (SOURCE / "packaging/man/ebbwatch.1", SOURCE / "packaging/man/ebbwatchd.8")

    def test_pages_are_well_formed(self):
        for page in self.PAGES:
            done = run("man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", str(page))
            self.assertEqual((done.returncode, done.stderr), (0, ""), page)

    def test_the_page_has_every_command_with_all_its_options(self):
        items = dict(re.findall(r"^\.It Cm (\S+)(.*)$", self.PAGES[0].read_text(), re.M))
        known = commands()
        self.assertGreater(len(known), 15)
        self.assertEqual(set(items), set(known))
        for name, options in known.items():
            self.assertEqual({word.lstrip("-") for word in re.findall(r"(?:Fl|\|) -([a-z-]+)", items[name])}, options,
                             name)

    def test_completion_has_the_same(self):
        file = SOURCE / "packaging/completion/ebbwatch"
        for name, options in commands().items():
            said = must("bash", "-c", f"source {file}; COMP_WORDS=(ebbwatch {name} --); COMP_CWORD=2; _ebbwatch; "
                                      "printf '%s\\n' \"${COMPREPLY[@]}\"")
            self.assertEqual(set(said.split()) - {"--config", "--help"}, {"--" + option for option in options}, name)
        said = must("bash", "-c", f"source {file}; COMP_WORDS=(ebbwatch ''); COMP_CWORD=1; _ebbwatch; "
                                  "printf '%s\\n' \"${COMPREPLY[@]}\"")
        self.assertEqual({word for word in said.split() if word[0] != "-"}, set(commands()))

    def test_the_list_of_dependencies_names_what_is_loaded(self):
        listed = json.loads(must(str(SOURCE / "tools/spdx"), "--bin", str(BIN)))
        self.assertEqual(listed["spdxVersion"], "SPDX-2.3")  # The fields: SPDX 2.3, clauses 6, 7 and 11.
        names = {package["name"]: package["versionInfo"] for package in listed["packages"]}
        for name in ("ebbwatch", "libsqlite3-0", "libssl3", "libcurl4", "libboost1.81-dev", "libcli11-dev"):
            self.assertIn(name, names)
        self.assertEqual(names["libssl3"], must("dpkg-query", "-W", "-f", "${Version}", "libssl3"))
        identifiers = [package["SPDXID"] for package in listed["packages"]]
        self.assertEqual(len(set(identifiers)), len(identifiers))
        for relation in listed["relationships"]:
            self.assertIn(relation["relatedSpdxElement"], identifiers)


if __name__ == "__main__":
    if os.geteuid() != 0 or not shutil.which("dpkg-deb") or not shutil.which("cpack"):
        print("skipped: it needs root, dpkg-deb and cpack")
        raise SystemExit(77)
    unittest.main(verbosity=2)
