"""Tries benchhand.exe under wine: the demo, a route over a COM port, a kill, a pulled cable.

The burette is invented: it prints its volume in cc ten times a second and counts up.
"""

import json
import os
import pty
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import tty

EXE, ROOT = sys.argv[1], sys.argv[2]
# Debian's `wine` is a script that asks for the 32-bit one too.
WINE = next(p for p in ("/usr/lib/wine/wine64", shutil.which("wine64"), shutil.which("wine")) if p and os.path.exists(p))
COM = "COM5"
LINK = os.path.join(os.environ["WINEPREFIX"], "dosdevices", COM.lower())


class Burette:
    """A burette at a pseudo-terminal. Its volume goes where it is told, at 4 cc a second."""

    def __init__(self):
        self.level, self.wanted, self.master = 0.0, 0.0, None
        self.plug_in()
        threading.Thread(target=self.print_for_ever, daemon=True).start()

    def plug_in(self):
        master, slave = pty.openpty()
        tty.setraw(slave)
        if os.path.lexists(LINK):
            os.remove(LINK)
        os.symlink(os.ttyname(slave), LINK)
        self.master, self.slave = master, slave

    def unplug(self):
        master, self.master = self.master, None
        os.close(master)
        os.close(self.slave)
        os.remove(LINK)

    def print_for_ever(self):
        while True:
            step = max(-2.0, min(0.4, self.wanted - self.level))
            self.level += step
            if self.master is not None:
                try:
                    os.write(self.master, b"%.2f cc\r\n" % self.level)
                except OSError:
                    pass
            time.sleep(0.1)

    def go(self, wanted):
        self.wanted = wanted
        while abs(self.level - wanted) > 0.001:
            time.sleep(0.05)


def windows(path):
    """The path as a Windows program sees it."""
    return "Z:" + path.replace("/", "\\")


class Shop:
    def __init__(self):
        self.folder = tempfile.mkdtemp()
        self.data = os.path.join(self.folder, "data")

    def command(self, *args):
        return [WINE, EXE, "--data", windows(self.data), *args]

    def run(self, *args, good=True):
        ran = subprocess.run(self.command(*args), capture_output=True, text=True, timeout=120)
        if good and ran.returncode != 0:
            raise SystemExit(f"{args} ended with {ran.returncode}:\n{ran.stdout}{ran.stderr}")
        return ran

    def json(self, *args):
        return json.loads(self.run(*args, "--json").stdout)

    def serve(self):
        daemon = subprocess.Popen(
            self.command("serve", "--json"),
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            start_new_session=True,
        )
        line = daemon.stdout.readline()
        assert json.loads(line)["address"], line
        return daemon


def kill(shop, daemon):
    """Ends the daemon's process at once. Wine's starter is not the process that serves."""
    pid = json.load(open(os.path.join(shop.data, "daemon.json")))["pid"]
    ended = subprocess.run(
        [WINE, "taskkill", "/f", "/pid", str(pid)], capture_output=True, text=True, timeout=60
    )
    try:
        daemon.wait(timeout=30)
    except subprocess.TimeoutExpired:
        os.killpg(daemon.pid, signal.SIGKILL)
        raise SystemExit(f"it could not be killed: {ended.stdout}{ended.stderr}")


def wait(what, ask, seconds=60):
    end = time.monotonic() + seconds
    while True:
        found = ask()
        if found:
            return found
        if time.monotonic() > end:
            raise SystemExit(f"waited in vain: {what}")
        time.sleep(0.3)


def readings(shop, job):
    shown = shop.json("job", "show", job)
    alive = [r for r in shown["readings"] if r["state"] in ("final", "held")]
    return {(r["spot"], round(r["figure"]["value"], 2)): r["id"] for r in alive}, shown


def main():
    shop = Shop()
    began = time.monotonic()
    report = json.loads(shop.run("demo", "--json").stdout)
    ratio = report["summary"]["compression_mean"]["value"]
    assert 5 < ratio < 20 and len(report["cylinders"]) == 8, report["summary"]
    print(f"demo: compression {ratio:.3f} of {len(report['cylinders'])} cylinders, {time.monotonic() - began:.1f} s")

    burette = Burette()
    daemon = shop.serve()
    engine = windows(os.path.join(ROOT, "examples", "invented-v8.toml"))
    shop.run("job", "new", "windows", engine)
    shop.run("gauge", "set", "burette", "--profile", "ascii-volume", "--port", COM, "--capacity", "100 cc", "--counts", "up")

    def live():
        listed = shop.json("gauge", "list")["gauges"]
        return any(g["setup"]["name"] == "burette" and g["link"] == "live" for g in listed)

    wait("the burette is heard", live)
    print(f"{COM}: the burette is heard")
    route = subprocess.Popen(
        shop.command("measure", "windows", "chambers", "--json"),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    time.sleep(4)
    burette.go(64.10)
    wait("the first chamber is kept", lambda: len(readings(shop, "windows")[0]) >= 1)
    time.sleep(4)
    before, _ = readings(shop, "windows")
    assert set(before) == {("chamber/1", 64.10)}, before
    print(f"kept: {sorted(before)}")

    kill(shop, daemon)
    route.wait(timeout=30)
    daemon = shop.serve()
    after, shown = readings(shop, "windows")
    assert after == before, (before, after)
    verified = shop.json("job", "verify", "windows")
    assert verified.get("broken") is None, verified
    print("killed and started again: every reading is there once, the record is whole")

    wait("the burette is heard again", live)
    burette.unplug()
    wait("the cable is missed", lambda: not live())
    burette.plug_in()
    wait("the burette is heard after the cable is back", live)
    print("the cable was pulled: it was missed, and taken up again")

    shop.run("enter", "windows", "chamber/2", "64.3 cc")
    out = os.path.join(shop.folder, "build.html")
    shop.run("sheet", "build", "windows", "--out", windows(out))
    shop.run("job", "pack", "windows", "--out", windows(os.path.join(shop.folder, "windows.job")))
    shop.run("backup", "--out", windows(os.path.join(shop.folder, "all.backup")))
    shop.run("restore", windows(os.path.join(shop.folder, "all.backup")), "--data", windows(os.path.join(shop.folder, "restored")))
    shop.run("stop")
    daemon.wait(timeout=60)
    print("sheet, archive, backup and its restoration were written; it ended when asked")
    shutil.rmtree(shop.folder)


main()
