"""Outside checks: the corpus of real boards, other programs, and comparisons.

Oracles are TSV files ``net<TAB>ref<TAB>pin`` that other programs wrote.  Without
the corpus or a program a test skips with the reason; with
``OHMTRAIL_REQUIRE_ORACLES=1`` in the environment it fails.

Import it plainly (``from _oracles import designs``): tests/conftest.py puts this
folder on the path.
"""

import functools
import json
import os
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import pytest

ROOT = Path(__file__).resolve().parent.parent

#: (ref, pin number) -> name of its net, None for a pin in no net.
Nodes = dict[tuple[str, str], str | None]


def absent(reason: str) -> NoReturn:
    """Skip the running test, or fail it where oracles are required."""
    if os.environ.get("OHMTRAIL_REQUIRE_ORACLES") == "1":
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)


def corpus_or_none() -> Path | None:
    """Where the corpus is, or None."""
    stated = os.environ.get("OHMTRAIL_CORPUS")
    folder = Path(stated) if stated else ROOT.parent / "shared" / "corpus"
    return folder.resolve() if (folder / "manifest.json").is_file() else None


NO_CORPUS = (
    "no corpus of real boards: set OHMTRAIL_CORPUS, or put it in ../shared/corpus"
)


def corpus() -> Path:
    """Folder of the corpus; skips (or fails) the running test without one."""
    folder = corpus_or_none()
    if folder is None:
        absent(NO_CORPUS)
    return folder


def corpus_file(name: str) -> Path:
    """Return a file of the corpus, "nets/vesc4/pcb_nodes.tsv"."""
    path = corpus() / name
    if not path.exists():
        absent(f"the corpus lacks {name}")
    return path


def program(name: str) -> str:
    """Path of a program; ``OHMTRAIL_KICAD_CLI``-like variables win over PATH."""
    variable = "OHMTRAIL_" + name.upper().replace("-", "_")
    found = os.environ.get(variable) or shutil.which(name)
    if not found:
        absent(f"no program {name} on PATH (or in {variable})")
    return found


@dataclass(frozen=True)
class Oracle:
    """A file that another program wrote about a design."""

    kind: str
    path: Path


@dataclass(frozen=True)
class Design:
    """One real design of the corpus."""

    name: str
    family: str
    root: Path
    oracles: tuple[Oracle, ...]
    #: What the manifest says is interesting in it, "" if nothing.
    power: str = ""

    def oracle(self, stem: str) -> Path:
        """Return the TSV oracle whose path holds ``stem`` ("sch_nodes")."""
        for oracle in self.oracles:
            if stem in oracle.path.as_posix() and oracle.path.suffix == ".tsv":
                return oracle.path
        raise LookupError(f"{self.name} has no oracle {stem!r}")

    @property
    def netlister(self) -> Path | None:
        """TSV from KiCad 9's own netlister, None where there is none."""
        for oracle in self.oracles:
            if "KiCad 9" in oracle.kind and oracle.path.suffix == ".tsv":
                return oracle.path
        return None

    @property
    def pads(self) -> Path | None:
        """TSV from the pads of the board file, None where there is none."""
        for oracle in self.oracles:
            if oracle.path.name in ("pcb_nodes.tsv", "brd_nodes.tsv"):
                return oracle.path
        return None


@functools.cache
def _catalogue(folder: Path) -> tuple[Design, ...]:
    entries = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    return tuple(
        Design(
            entry["name"],
            entry["family"],
            folder / entry["root"],
            tuple(Oracle(o["kind"], folder / o["file"]) for o in entry["oracles"]),
            entry.get("power") or "",
        )
        for entry in entries
        if entry.get("exists", True)
    )


def catalogue(*families: str) -> list[Design]:
    """Designs of these families (all without any), inside a running test."""
    found = _catalogue(corpus())
    return [d for d in found if not families or d.family in families]


def designs(*families: str) -> list:
    """Parameters for ``pytest.mark.parametrize("design", designs("kicad6+"))``.

    Families: "kicad6+", "kicad5", "kicad4", "eagle", "kicad_qa", "kicad_demo".
    Without the corpus it is one parameter that skips, or fails where required.
    """
    if corpus_or_none() is None:
        return absent_params(NO_CORPUS)
    return [pytest.param(d, id=d.name) for d in catalogue(*families)]


def corpus_files(*names: str) -> list:
    """Parameters of files in the corpus by name (globs allowed), as `designs`."""
    folder = corpus_or_none()
    if folder is None:
        return absent_params(NO_CORPUS)
    params = []
    for name in names:
        found = sorted(folder.glob(name))
        if not found:
            params += absent_params(f"the corpus lacks {name}")
        params += [pytest.param(p, id=p.relative_to(folder).as_posix()) for p in found]
    return params


def absent_params(reason: str) -> list:
    """One parameter that skips, or fails where oracles are required."""
    mark = pytest.mark.oracle_absent(reason)
    return [pytest.param(None, marks=mark, id="absent")]


# Comparisons ------------------------------------------------------------------


def read_oracle(path: Path) -> Nodes:
    """Read a TSV oracle."""
    nodes: Nodes = {}
    with open(path, encoding="utf-8") as file:
        assert next(file).rstrip("\n").split("\t") == ["net", "ref", "pin"]
        for line in file:
            net, ref, pin = line.rstrip("\n").split("\t")
            nodes.setdefault((ref, pin), net)
    return nodes


def board_nodes(board) -> Nodes:
    """Return every pin of a Board with its net."""
    return {(p.ref, p.number): p.net for part in board.parts for p in part.pins}


def _grouped(nodes: Mapping, known: Iterable) -> dict:
    groups: dict = {}
    for key in known:
        net = nodes[key]
        groups.setdefault(key if net is None else net, set()).add(key)
    return groups


def _words(keys: Iterable) -> str:
    ordered = sorted(keys)
    text = " ".join(f"{ref}.{pin}" for ref, pin in ordered[:12])
    return text + (f" and {len(ordered) - 12} more" if len(ordered) > 12 else "")


def partition_differences(ours, theirs: Nodes | Path) -> list[str]:
    """Compare two views as partitions of the pins that both know, in words.

    ``ours`` is a Board or nodes, ``theirs`` nodes or the path of a TSV.  A pin in
    no net counts as a net of its own.  Empty when the partitions are equal.
    """
    a = ours if isinstance(ours, dict) else board_nodes(ours)
    b = read_oracle(theirs) if isinstance(theirs, Path) else theirs
    known = [key for key in a if key in b]
    if not known:
        return ["no pin is known to both"]
    found = []
    groups_a, groups_b = _grouped(a, known), _grouped(b, known)
    for group in groups_a.values():
        parts = _grouped(b, group)
        if len(parts) > 1:
            found.append(
                f"one net here ({a[next(iter(group))]}), several there: "
                + "; ".join(f"{net}: {_words(keys)}" for net, keys in parts.items())
            )
    for group in groups_b.values():
        parts = _grouped(a, group)
        if len(parts) > 1:
            found.append(
                f"one net there ({b[next(iter(group))]}), several here: "
                + "; ".join(f"{net}: {_words(keys)}" for net, keys in parts.items())
            )
    return found


def unknown_pins(ours, theirs: Nodes | Path) -> tuple[list, list]:
    """Return pins that only we know, and pins that only the oracle knows."""
    a = ours if isinstance(ours, dict) else board_nodes(ours)
    b = read_oracle(theirs) if isinstance(theirs, Path) else theirs
    return sorted(a.keys() - b.keys()), sorted(b.keys() - a.keys())


def name_differences(ours, theirs: Nodes | Path) -> list[str]:
    """Nets whose pins are the same and whose names differ, in words."""
    a = ours if isinstance(ours, dict) else board_nodes(ours)
    b = read_oracle(theirs) if isinstance(theirs, Path) else theirs
    pairs = {(a[key], b[key]) for key in a if key in b}
    return sorted(f"{x} here, {y} there" for x, y in pairs if x != y)
