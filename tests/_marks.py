"""Reads marks back out of KiCad's files, and asks KiCad about them."""

import re
import subprocess
from pathlib import Path

from _oracles import program

from ohmtrail.importers._sexpr import Grammar

#: "ohmtra" in ASCII, and version 8 (RFC 9562).
OURS = "6f686d74-7261-8"


def marks_in(path: Path) -> list[list]:
    """Groups of a sheet that carry our identifier, as trees."""
    tree = Grammar().parse(path.read_text(encoding="utf-8"), path)
    return [
        item
        for item in tree[1:]
        if isinstance(item, list)
        and any(
            part[0] == "uuid" and part[1].startswith(OURS)
            for part in item[1:]
            if isinstance(part, list)
        )
    ]


def texts_in(path: Path) -> list[str]:
    """Texts among the marks."""
    return [item[1] for item in marks_in(path) if item[0] == "text"]


def lines_in(path: Path) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Lines among the marks, ends in millimetres."""
    found = []
    for item in marks_in(path):
        if item[0] == "polyline":
            pts = next(part for part in item[1:] if part[0] == "pts")
            (ax, ay), (bx, by) = ((float(p[1]), float(p[2])) for p in pts[1:])
            found.append(((ax, ay), (bx, by)))
    return found


def kicad_netlist(root: Path, out: Path) -> str:
    """KiCad's own netlist, without date and folder.

    The order in which it lists the units of a part varies with what else is drawn
    (seen with 9.0.8), so that it is sorted.
    """
    _run(root, "netlist", "-o", str(out))
    text = out.read_text(encoding="utf-8")
    text = re.sub(r'\((date|source) "[^"]*"\)', "", text)
    text = text.replace(str(root.resolve().parent), "")

    def in_order(match: re.Match) -> str:
        return f"(tstamps {' '.join(sorted(match[1].split()))})"

    return re.sub(r'\(tstamps((?: "[-0-9a-f]+")+)\)', in_order, text)


def kicad_svgs(root: Path, out: Path) -> list[Path]:
    """Pictures that KiCad makes of a design, one a use of a sheet."""
    _run(root, "svg", "-o", str(out))
    return sorted(out.glob("*.svg"))


def _run(root: Path, kind: str, *words: str) -> None:
    ran = subprocess.run(
        [program("kicad-cli"), "sch", "export", kind, *words, root.name],
        cwd=root.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file below a folder by its path."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
