#!/usr/bin/env python3
"""Two Modbus gauges on one line, served by pymodbus over a pseudo-terminal.

Prints one JSON object: the path to open, and the registers with what each must be read as. What is
expected comes from pymodbus's own conversion, not from here. A reply can be late (the first to
register LATE of each device) or corrupted (the first to register CORRUPT). Ends with its standard
input.
"""
import asyncio
import json
import os
import pty
import struct
import sys
import threading
import tty

from pymodbus import FramerType
from pymodbus.client.mixin import ModbusClientMixin
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

Own = ModbusClientMixin.DATATYPE
BAUD = 19200
LATE, CORRUPT, NOWHERE = 300, 320, 900
LATE_S = 0.45
DEVICES = (1, 17)
# pymodbus's word order, and whether the bytes of each word are swapped besides.
ORDERS = {"ABCD": ("big", False), "CDAB": ("little", False),
          "BADC": ("big", True), "DCBA": ("little", True)}
KINDS = {
    "u16": (Own.UINT16, [0, 513, 65535]),
    "i16": (Own.INT16, [-32768, -2, 4660]),
    "u32": (Own.UINT32, [0, 16909060, 4294967295]),
    "i32": (Own.INT32, [-2147483648, -16909060, 7]),
    "f32": (Own.FLOAT32, [-0.15625, 3.5e-5, 123456.7890625]),
}


def swapped(words):
    return [struct.unpack("<H", struct.pack(">H", word))[0] for word in words]


def registers_of(device):
    """Registers of both tables and the channels that read them."""
    tables, channels = {"holding": {}, "input": {}}, []

    def put(table, at, kind, order, words, value):
        for offset, word in enumerate(words):
            tables[table][at + offset] = word
        channels.append({"table": table, "register": at, "type": kind, "order": order,
                         "address": device, "value": value})

    at = 10
    for table in tables:
        for kind, (datatype, values) in KINDS.items():
            orders = ORDERS if kind.endswith("32") else {"big": ("big", False), "little": ("big", True)}
            for order, (word_order, swap) in orders.items():
                for value in values:
                    words = ModbusClientMixin.convert_to_registers(value, datatype, word_order)
                    words = swapped(words) if swap else words
                    # What a single-precision register holds, as pymodbus reads it back.
                    back = swapped(words) if swap else words
                    read = ModbusClientMixin.convert_from_registers(back, datatype, word_order)
                    put(table, at, kind, order, words, read)
                    # Now and then a gap, so that not all are read by one question.
                    at += len(words) + (at % 5 == 0)
        at = 10
    for register in (LATE, CORRUPT):
        put("holding", register, "u16", "big", [device * 1000 + register], device * 1000 + register)
    return tables, channels


def blocks(registers):
    return [SimData(at, values=[word], datatype=DataType.REGISTERS) for at, word in sorted(registers.items())]


class Spoiled:
    """Delays and corrupts the first reply of its kind."""

    def __init__(self):
        self.late, self.corrupt = set(DEVICES), set(DEVICES)
        self.next_is_corrupt = False
        self.next_is_late = threading.Event()

    def action(self, device):
        async def act(_function, start, address, count, _current, _values):
            if address <= LATE < address + count and device in self.late:
                self.late.discard(device)
                self.next_is_late.set()
            if address <= CORRUPT < address + count and device in self.corrupt:
                self.corrupt.discard(device)
                self.next_is_corrupt = True
        return act

    def trace(self, sending, data):
        if sending and self.next_is_corrupt:
            self.next_is_corrupt = False
            return data[:3] + bytes([data[3] ^ 0x40]) + data[4:]
        return data


def relay(one, other, late=None):
    """Passes on what comes from one end to the other; `late` holds the next of it back.

    The delay is on the line and not in the server, which stamps whatever it sends with the
    address of the request that it heard last.
    """
    while True:
        try:
            data = os.read(one, 512)
            if late is not None and late.is_set():
                late.clear()
                threading.Timer(LATE_S, os.write, (other, data)).start()
            else:
                os.write(other, data)
        except OSError:
            return


def pair():
    held, end = pty.openpty()
    tty.setraw(held)
    tty.setraw(end)
    return held, end, os.ttyname(end)


async def main():
    ours, keep_ours, path = pair()
    theirs, keep_theirs, served = pair()
    spoiled, devices, channels = Spoiled(), [], []
    for passed in ((ours, theirs), (theirs, ours, spoiled.next_is_late)):
        threading.Thread(target=relay, args=passed, daemon=True).start()
    for device in DEVICES:
        tables, own = registers_of(device)
        unused = [SimData(0, values=[False], datatype=DataType.BITS)]
        channels += own
        simdata = (unused, unused, blocks(tables["holding"]), blocks(tables["input"]))
        devices.append(SimDevice(device, simdata=simdata, action=spoiled.action(device)))
    server = ModbusSerialServer(devices, framer=FramerType.RTU, port=served, baudrate=BAUD,
                                trace_packet=spoiled.trace)
    await server.serve_forever(background=True)
    print(json.dumps({"path": path, "baud": BAUD, "nowhere": NOWHERE, "late": LATE,
                      "corrupt": CORRUPT, "channels": channels}), flush=True)
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)
    await server.shutdown()
    os.close(keep_ours), os.close(keep_theirs)


asyncio.run(main())
