"""Virtual gauges on pseudo-terminals, steered by lines on standard input.

    plug NAME UNIT DECIMALS VALUE [RATE]
                                    a gauge that sends RATE values a second, ten where that is left out;
                                    prints NAME PATH DEVICE; with the unit - it sends none
    set NAME VALUE                  it shows VALUE from now on
    ramp NAME VALUE SECONDS         it goes there evenly
    count NAME                      each value is one digit more than the one before from now on
    along NAME VALUE                a second number stands behind each value from now on, after a comma
    unplug NAME                     its line is gone

PATH is a link that stays the same when the gauge is plugged in again. Everything it sends is
made up; it ends when standard input does.
"""

import os
import select
import sys
import time
import tty


class Gauge:
    def __init__(self, unit, decimals, value, rate):
        self.unit, self.decimals = unit, decimals
        self.every, self.due = 1.0 / rate, time.monotonic()
        self.counts = False
        self.was = self.to = value
        self.begin = self.end = time.monotonic()
        self.along = None
        self.far, self.near = os.openpty()
        tty.setraw(self.near)
        os.set_blocking(self.far, False)

    def value(self):
        now = time.monotonic()
        if now >= self.end:
            return self.to
        return self.was + (self.to - self.was) * (now - self.begin) / (self.end - self.begin)

    def go(self, to, seconds):
        self.was, self.to = self.value(), to
        self.begin = time.monotonic()
        self.end = self.begin + seconds

    def send(self):
        self.due += self.every
        if self.counts:
            self.to += 10.0**-self.decimals
        unit = "" if self.unit == "-" else f" {self.unit}"
        if self.along is not None:
            unit = f",{self.along:.{self.decimals}f}"
        text = f"{self.value():.{self.decimals}f}{unit}\r\n"
        try:
            os.write(self.far, text.encode())
        except BlockingIOError:
            pass  # Nobody reads; a real gauge would go on sending too.

    def close(self):
        os.close(self.near)
        os.close(self.far)


def main(folder):
    gauges = {}
    rest_of_line = ""
    while True:
        due = min((gauge.due for gauge in gauges.values()), default=time.monotonic() + 1.0)
        ready, _, _ = select.select([sys.stdin], [], [], max(0.0, due - time.monotonic()))
        if ready:
            # Not by `readline`: it would keep a second line to itself, which `select` cannot see.
            came = os.read(0, 65536)
            if not came:
                return
            *lines, rest_of_line = (rest_of_line + came.decode()).split("\n")
            for line in lines:
                word, name, *rest = line.split()
                if word == "plug":
                    gauge = gauges[name] = Gauge(rest[0], int(rest[1]), float(rest[2]), float((rest[3:] or [10])[0]))
                    path = os.path.join(folder, name)
                    if os.path.islink(path):
                        os.unlink(path)
                    os.symlink(os.ttyname(gauge.near), path)
                    print(name, path, os.ttyname(gauge.near), flush=True)
                elif word == "set":
                    gauges[name].go(float(rest[0]), 0.0)
                elif word == "ramp":
                    gauges[name].go(float(rest[0]), float(rest[1]))
                elif word == "count":
                    gauges[name].counts = True
                elif word == "along":
                    gauges[name].along = float(rest[0])
                elif word == "unplug":
                    gauges.pop(name).close()
        for gauge in gauges.values():
            if time.monotonic() >= gauge.due:
                gauge.send()


main(sys.argv[1])
