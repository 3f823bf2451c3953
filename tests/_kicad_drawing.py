"""Draws small KiCad 9 schematics for tests, so that each shows one question only."""

import itertools
import re
import uuid
from pathlib import Path

NAMESPACE = uuid.UUID("5d1f2f4e-8a39-4b0e-9a53-2b7c6f6f0a11")
FONT = "(effects (font (size 1.27 1.27)))"
STROKE = "(stroke (width 0) (type default))"


def point(place) -> str:
    return f"{place[0]} {place[1]}"


class Drawing:
    """One schematic file; coordinates in millimetres, y down."""

    def __init__(self, name: str, version: int = 20250114) -> None:
        self.name = name
        self.version = version
        self.uuid = str(uuid.uuid5(NAMESPACE, name))
        self.items: list[str] = []
        self.library: dict[str, str] = {}
        self.children: list[tuple[str, str]] = []
        self.paths: list[str] = []
        self.count = 0
        self.lib("t:P", [("1", "~", "passive", 0, 0)])

    def new_uuid(self) -> str:
        self.count += 1
        return str(uuid.uuid5(NAMESPACE, f"{self.name} {self.count}"))

    def raw(self, text: str) -> None:
        self.items.append(text)

    def wire(self, *places, kind: str = "wire") -> None:
        for a, b in itertools.pairwise(places):
            pts = f"(pts (xy {point(a)}) (xy {point(b)}))"
            self.raw(f'({kind} {pts} {STROKE} (uuid "{self.new_uuid()}"))')

    def bus(self, *places) -> None:
        self.wire(*places, kind="bus")

    def entry(self, place, size=(2.54, 2.54)) -> None:
        self.raw(
            f"(bus_entry (at {point(place)}) (size {point(size)}) {STROKE}"
            f' (uuid "{self.new_uuid()}"))'
        )

    def junction(self, place) -> None:
        self.raw(
            f'(junction (at {point(place)}) (diameter 0) (uuid "{self.new_uuid()}"))'
        )

    def no_connect(self, place) -> None:
        self.raw(f'(no_connect (at {point(place)}) (uuid "{self.new_uuid()}"))')

    def label(self, text: str, place, kind: str = "label") -> None:
        shape = "" if kind == "label" else "(shape input)"
        self.raw(
            f'({kind} "{text}" {shape} (at {point(place)} 0) {FONT}'
            f' (uuid "{self.new_uuid()}"))'
        )

    def lib(self, name: str, pins, power: str = "", extra: str = "") -> None:
        """Add a symbol; a pin: number, name, type, x, y, unit, style, hidden, alts."""
        by_unit: dict[tuple[int, int], str] = {}
        for pin in pins:
            number, label, kind, x, y, *rest = pin
            unit, style, hidden, alts = (*rest, *(1, 1, False, ())[len(rest) :])
            alternates = "".join(f'(alternate "{a}" {t} line)' for a, t in alts)
            by_unit.setdefault((unit, style), "")
            by_unit[unit, style] += (
                f"(pin {kind} line (at {x} {y} 0) (length 0)"
                f' {"(hide yes)" if hidden else ""} (name "{label}" {FONT})'
                f' (number "{number}" {FONT}){alternates})'
            )
        short = name.rpartition(":")[2]
        units = "".join(
            f'(symbol "{short}_{unit}_{style}" {text})'
            for (unit, style), text in sorted(by_unit.items())
        )
        self.library[name] = (
            f'(symbol "{name}" {power} (in_bom yes) (on_board yes)'
            f' (property "Reference" "{"#PWR" if power else "U"}" (at 0 0 0) {FONT})'
            f' (property "Value" "{short}" (at 0 0 0) {FONT}) {extra} {units})'
        )

    def power(self, name: str, place, ref: str, form: str = "(power)") -> None:
        """Place a power symbol that names its net ``name``."""
        lib = f"t:{name}"
        if lib not in self.library:
            self.lib(lib, [("1", "~", "power_in", 0, 0, 1, 1, True)], form)
        self.symbol(lib, ref, place, value=name)

    def symbol(
        self,
        lib: str,
        ref: str,
        place,
        value: str | None = None,
        angle: int = 0,
        mirror: str = "",
        unit: int = 1,
        style: int = 1,
        flags: str = "(in_bom yes) (on_board yes) (dnp no)",
        functions=(),
        instances: str | None = None,
        extra: str = "",
    ) -> None:
        chosen = "".join(
            f'(pin "{n}" (uuid "{self.new_uuid()}") (alternate "{a}"))'
            for n, a in functions
        )
        stated = f"@{ref}:{unit}@" if instances is None else instances
        text = lib.rpartition(":")[2] if value is None else value
        self.raw(
            f'(symbol (lib_id "{lib}") (at {point(place)} {angle})'
            f" {f'(mirror {mirror})' if mirror else ''} (unit {unit})"
            f" {f'(convert {style})' if style > 1 else ''} {flags}"
            f' (uuid "{self.new_uuid()}")'
            f' (property "Reference" "{ref}" (at 0 0 0) {FONT})'
            f' (property "Value" "{text}" (at 0 0 0) {FONT}) {extra} {chosen} {stated})'
        )

    def sheet(self, name: str, child: "Drawing | str", pins=(), flags="") -> None:
        """Place a sheet; a pin: name, place; all on its left edge."""
        file = child if isinstance(child, str) else f"{child.name}.kicad_sch"
        x = pins[0][1][0] if pins else 200
        tops = [place[1] for _, place in pins] or [200]
        uid = self.new_uuid()
        drawn = "".join(
            f'(pin "{text}" input (at {point(place)} 180) {FONT}'
            f' (uuid "{self.new_uuid()}"))'
            for text, place in pins
        )
        self.raw(
            f"(sheet (at {x} {min(tops) - 5}) (size 20 {max(tops) - min(tops) + 10})"
            f' {flags} {STROKE} (uuid "{uid}")\n'
            f'(property "Sheetname" "{name}" (at 0 0 0) {FONT})\n'
            f'(property "Sheetfile" "{file}" (at 0 0 0) {FONT})\n{drawn})'
        )
        self.children.append((uid, file))

    def pad(self, ref: str, place, *labels: str, kind: str = "label") -> None:
        """Place a one-pin part with labels on its pin."""
        self.symbol("t:P", ref, place)
        for label in labels:
            self.label(label, place, kind)

    def text(self) -> str:
        def stated(match: re.Match) -> str:
            paths = "".join(
                f'(path "{path}" (reference "{match[1]}{use or ""}") (unit {match[2]}))'
                for use, path in enumerate(self.paths)
            )
            return f'(instances (project "t" {paths}))'

        items = re.sub(r"@([^:@]*):(\d+)@", stated, "\n".join(self.items))
        return (
            f'(kicad_sch (version {self.version}) (generator "eeschema")'
            f' (generator_version "9.0") (uuid "{self.uuid}") (paper "A4")\n'
            f"(lib_symbols {' '.join(self.library.values())})\n{items}\n"
            f'(sheet_instances (path "/" (page "1"))))\n'
        )


def write(folder: Path, *drawings: Drawing) -> Path:
    """Write the files, the root first; return the root's path.

    A part on a sheet that is used again gets the number of the use behind its
    reference: R1, R11, R12.
    """
    by_file = {f"{d.name}.kicad_sch": d for d in drawings}
    for drawing in drawings:
        drawing.paths = []
    pending = [(drawings[0], f"/{drawings[0].uuid}")]
    while pending:
        drawing, path = pending.pop(0)
        drawing.paths.append(path)
        if path.count("/") < 20:
            pending += [
                (by_file[file], f"{path}/{uid}")
                for uid, file in drawing.children
                if file in by_file
            ]
    for file, drawing in by_file.items():
        (folder / file).write_text(drawing.text(), encoding="utf-8")
    return folder / f"{drawings[0].name}.kicad_sch"
