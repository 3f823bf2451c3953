"""Runs xschem headless and flattens the SPICE netlist that it writes."""

import re
import subprocess
from pathlib import Path

from _oracles import program

from ohmtrail.importers.xschem._board import board_of
from ohmtrail.importers.xschem._design import read_design

_WORD = re.compile(r"@#(\d+)\b|@@(\w+)|@pinlist|\S+")


def spice_of(path: Path, folder: Path) -> str:
    """Netlist a schematic; xschem writes into ``folder``."""
    rc = folder / "rc"
    rc.write_text(f"set netlist_dir {folder}\nset netlist_type spice\n")
    subprocess.run(
        [program("xschem"), "--rcfile", rc, *"-r -n -s -q -x".split(), path],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=60,
        cwd=folder,
    )
    return (folder / f"{path.stem}.spice").read_text(errors="replace")


def compare(path: Path, folder: Path):
    """Compare importer and xschem: (ours, theirs, parts not in the netlist).

    A pin is known by (ref, number); its node in the netlist is found by the place
    that the symbol's own ``format`` gives it.
    """
    design = read_design(path)
    board = board_of(design)
    devices = flat_devices(spice_of(path, folder), path.stem)
    ours, theirs, absent, met = {}, {}, {}, set()
    parts = [(use, item) for use in design.uses for item in use.sheet.parts]
    for use, item in parts + design.closed:
        part = board.part_by_ref[use.path[1:] + item.ref]
        drawn = [pin.name for pin in item.pins if not pin.hidden]
        text = item.symbol.attributes.get("format", "")
        if item.symbol.is_label or not text:
            absent[part.ref] = item.symbol.name
            continue
        name, order = node_order(text, drawn)
        key = use.path, name.replace("@name", item.ref)
        (words,) = devices[key]
        met.add(key)
        for word, index in order:
            number = item.pins[index].number
            ours[part.ref, number] = part.pin(number).net
            theirs[part.ref, number] = words[word]
    opened = {use.path for use in design.uses}
    rest = {p + n for p, n in devices.keys() - met if f"{p}{n}/" not in opened}
    return board, ours, theirs, absent, rest


def flat_devices(text: str, top: str):
    """Devices by path: ("x1/", "m1") -> words after the name, and node names."""
    cells, everywhere = _cells(text, top)
    devices: dict[tuple[str, str], list[list[str]]] = {}
    work = [("/", top, {})]
    while work:
        path, cell, ports = work.pop()
        for words in cells[cell][1]:

            def node(name, path=path, ports=ports):
                if name in ports:
                    return ports[name]
                return name if name in everywhere or name == "0" else path + name

            devices.setdefault((path, words[0]), []).append([*map(node, words[1:])])
            called = _called(words, cells)
            if called is not None:
                names = cells[called][0]
                bound = dict(zip(names, map(node, words[1:]), strict=False))
                work.append((f"{path}{words[0]}/", called, bound))
    return devices


def _called(words, cells):
    if words[0][:1] not in "xX":
        return None
    plain = [word for word in words[1:] if "=" not in word]
    return plain[-1] if plain and plain[-1] in cells else None


def _cells(text: str, top: str):
    cells = {top: ([], [])}
    everywhere, current, code = set(), top, False
    for line in re.sub(r"\n\+", " ", text).splitlines():
        words = line.split()
        code = code or "begin user architecture code" in line
        if "end user architecture code" in line:
            code = False
        elif code or not words:
            continue
        elif words[0].lower() in (".subckt", "**.subckt"):
            current = words[1]
            cells[current] = ([w for w in words[2:] if "=" not in w], [])
        elif words[0].lower() == ".global":
            everywhere.update(words[1:])
        elif words[0][0] not in ".*":
            cells[current][1].append(words)
    return cells, everywhere


def node_order(format_text: str, pins: list[str]):
    """Name, and (word of the device line, pin) pairs, by the symbol's format."""
    name, order, word = "", [], 0
    for match in _WORD.finditer(format_text):
        text = match[0]
        if not name:
            name = text
        elif text == "@pinlist":
            order += [(word + k, k) for k in range(len(pins))]
            word += len(pins)
        elif match[1] or match[2] in pins:
            order.append((word, int(match[1]) if match[1] else pins.index(match[2])))
            word += 1
        elif text.startswith("@"):
            break  # a value may be any number of words
        else:
            word += 1
    return name, order
