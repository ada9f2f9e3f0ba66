"""Exported workbooks, recomputed by LibreOffice, beside the report.

Saving a workbook by openpyxl drops every result that stands in it, so that what LibreOffice then
finds in a cell was calculated from the formulas. Run by tests/workbook/run.
"""

import json
import pathlib
import subprocess
import sys
import tempfile

import openpyxl

NEAR = 1e-9
# The sheet's layout: where the gasket is changed, where the table begins.
THICKNESS, FIRST, CYLINDER, RATIO = "D5", 9, 1, 14


def engine(cylinders, units):
    """An invented engine, with its readings as CSV."""
    size, thickness = ("in", 0.041) if units == "inch" else ("mm", 1.05)
    scale = 1.0 if units == "inch" else 25.4
    text = f"""name = "invented {cylinders}"
invented = true
units = "{units}"
cylinders = {cylinders}
bore = "{3.3 * scale:.4f} {size}"
stroke = "{3.1 * scale:.4f} {size}"
[gasket]
bore = "{3.38 * scale:.4f} {size}"
thickness = "{thickness} {size}"
[piston]
crown = "2.4 cc"
[targets]
compression = 10.2
"""
    rows = ["spot,value,unit"]
    for number in range(1, cylinders + 1):
        rows.append(f"chamber/{number},{40.0 + 0.13 * number:.2f},cc")
        deck = (0.012 + 0.0007 * number) * scale
        rows += [f"deck/{number}/front,{deck:.4f},{size}", f"deck/{number}/rear,{deck + 0.0004 * scale:.4f},{size}"]
    return text, "\n".join(rows) + "\n", (thickness * 1.3, size)


class Shop:
    """A data folder, and the program that works on it."""

    def __init__(self, program, folder):
        self.program, self.folder = program, pathlib.Path(folder)

    def run(self, *words):
        command = [self.program, "--data", str(self.folder / "shop"), *words]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode:
            raise SystemExit(f"{words}: {done.stderr}")
        return done.stdout

    def ask(self, *words):
        return json.loads(self.run(*words, "--json"))

    def job(self, name, text, csv):
        for file, content in [(f"{name}.toml", text), (f"{name}.csv", csv)]:
            (self.folder / file).write_text(content)
        self.run("job", "new", name, str(self.folder / f"{name}.toml"))
        self.run("import", name, str(self.folder / f"{name}.csv"), "--sure")

    def recomputed(self, name, thickness=None):
        """The ratio of each cylinder, calculated by LibreOffice; with another gasket if one is given."""
        first = self.folder / f"{name}.xlsx"
        if not first.exists():
            self.run("export", "workbook", name, "--out", str(first))
        book = openpyxl.load_workbook(first)
        if thickness is not None:
            assert book["Compression"][THICKNESS].value is not None, "no gasket to change"
            book["Compression"][THICKNESS].value = thickness
        changed = self.folder / "changed" / first.name
        changed.parent.mkdir(exist_ok=True)
        book.save(changed)
        found = self.folder / "found"
        command = ["soffice", "--headless", f"-env:UserInstallation=file://{self.folder}/office"]
        command += ["--convert-to", "xlsx", "--outdir", str(found), str(changed)]
        subprocess.run(command, check=True, capture_output=True, timeout=180)
        sheet = openpyxl.load_workbook(found / first.name, data_only=True)["Compression"]
        ratios = {}
        for row in range(FIRST, sheet.max_row + 1):
            number = sheet.cell(row, CYLINDER).value
            if not isinstance(number, (int, float)):
                break
            ratios[int(number)] = sheet.cell(row, RATIO).value
        totals = {sheet.cell(at, CYLINDER).value: sheet.cell(at, RATIO).value for at in (row, row + 1)}
        return ratios, totals


def differences(told, ratios, totals):
    """How far each ratio is from what was told: `told` has the ratios, their mean and spread."""
    cylinders, mean, spread = told
    assert set(cylinders) == set(ratios), f"{sorted(ratios)} for {sorted(cylinders)}"
    for number in cylinders:
        empty = ratios[number] in (None, "")
        assert empty == (cylinders[number] is None), f"cylinder {number}: {ratios[number]!r}"
    known = [number for number in cylinders if cylinders[number] is not None]
    pairs = [(cylinders[number], ratios[number]) for number in known]
    pairs.append((mean, totals["Average"]))
    if len(cylinders) > 1:
        pairs.append((spread, totals["Spread"]))
    return [abs(one - other) for one, other in pairs]


def of_report(report):
    known = lambda one: (one.get("compression") or {}).get("value")
    ratios = {one["cylinder"]: known(one) for one in report["cylinders"]}
    summary = report["summary"]
    return ratios, summary["compression_mean"]["value"], (summary.get("compression_spread") or {"value": 0})["value"]


def of_what_if(answer):
    side = {one["cylinder"]: one["compression"]["after"]["value"] for one in answer["cylinders"]}
    return side, answer["compression_mean"]["after"]["value"], (answer.get("compression_spread") or {"after": {"value": 0}})["after"]["value"]


def main(program):
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(program, folder)
        subprocess.run([program, "demo", "--json", "--keep", str(shop.folder / "shop")], check=True, stdout=subprocess.DEVNULL)
        jobs = [("invented-v8", (0.051, "in"))]
        for cylinders, units in [(1, "metric"), (16, "inch")]:
            text, csv, gasket = engine(cylinders, units)
            shop.job(f"invented-{cylinders}", text, csv)
            jobs.append((f"invented-{cylinders}", gasket))
        # One cylinder has no deck: its ratio is not known, and not nothing.
        text, csv, _ = engine(4, "inch")
        shop.job("part-known", text, "".join(line for line in csv.splitlines(True) if not line.startswith("deck/3")))
        apart = differences(of_report(shop.ask("report", "part-known")), *shop.recomputed("part-known"))
        written = openpyxl.load_workbook(shop.folder / "part-known.xlsx", data_only=True)["Compression"]
        assert written.cell(FIRST + 2, RATIO).value in (None, ""), written.cell(FIRST + 2, RATIO).value
        worst = max(worst, *apart)
        print(f"part-known: {len(apart)} figures, largest difference {max(apart):.1e}")
        for name, (thickness, unit) in jobs:
            apart = differences(of_report(shop.ask("report", name)), *shop.recomputed(name))
            changed = f"gasket thickness = {thickness} {unit}"
            answer = shop.ask("decide", "what-if", name, "--set", changed)["answer"]
            apart += differences(of_what_if(answer), *shop.recomputed(name, thickness))
            worst = max(worst, *apart)
            print(f"{name}: {len(apart)} figures, largest difference {max(apart):.1e}")
    print(f"largest difference {worst:.1e}, allowed {NEAR:.0e}")
    return worst <= NEAR


if __name__ == "__main__":
    sys.exit(0 if main(sys.argv[1]) else 1)
