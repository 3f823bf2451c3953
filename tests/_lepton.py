"""Runs lepton-netlist and reads what it writes; imported plainly, as _oracles is."""

import re
import subprocess
from pathlib import Path

from _oracles import (
    board_nodes,
    name_differences,
    partition_differences,
    program,
)

_NET = re.compile(r"^(.*?) : (.*)$")

#: A back end of our own: every pin of every component with the net that Lepton's
#: netlister found.  Back end ``geda`` leaves out the nets that carry a
#: no-connect mark, and this one does not.
_EVERY_PIN = """
(use-modules (netlist schematic) (netlist schematic-component)
             (netlist package-pin) (netlist schematic toplevel))
(define (everypin output-filename)
  (for-each
   (lambda (component)
     (for-each
      (lambda (pin)
        (format #t "~A\\t~A\\t~A\\n"
                (package-pin-name pin)
                (schematic-component-refdes component)
                (package-pin-number pin)))
      (schematic-component-pins component)))
   (schematic-components (toplevel-schematic))))
"""


def read_geda(text: str):
    """Nodes (with all their nets) and parts of a netlist by back end ``geda``."""
    section, nodes, parts = "", {}, []
    for line in text.splitlines():
        if line.startswith("START "):
            section = line[6:]
        elif line.startswith("END "):
            section = ""
        elif section == "components" and " device=" in line:
            parts.append(line.partition(" device=")[0])
        elif section == "nets" and (m := _NET.match(line)):
            for node in filter(None, m[2].split(", ")):
                ref, _, pin = node.rpartition(" ")
                nodes.setdefault((ref, pin), []).append(m[1])
    return nodes, parts


def run_lepton(root: Path, *more: Path) -> str:
    """Run back end ``geda`` in the folder of a page; returns what it writes."""
    return _run(root, more, "-g", "geda")


def every_pin(root: Path, *more: Path) -> dict[tuple[str, str], list[str]]:
    """Every (ref, pin) with the nets that Lepton's netlister puts it on."""
    backend = root.parent / "gnet-everypin.scm"
    backend.write_text(_EVERY_PIN)
    nodes: dict[tuple[str, str], list[str]] = {}
    for line in _run(root, more, "-f", backend.name).splitlines():
        net, ref, pin = line.split("\t")
        if ref != "#f" and pin != "#f":
            nets = nodes.setdefault((ref, pin), [])
            if net not in nets:
                nets.append(net)
    return nodes


def _run(root: Path, more: tuple[Path, ...], *backend: str) -> str:
    out = root.parent / "oracle.net"
    done = subprocess.run(
        [program("lepton-netlist"), *backend, "-o", out.name, root.name]
        + [path.name for path in more],
        cwd=root.parent,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert out.exists(), done.stderr[-800:]
    text = out.read_text()
    out.unlink()
    return text


def assert_equal(board, theirs: dict[tuple[str, str], list[str]]) -> None:
    """Compare a board with `every_pin`: parts, pins, partition and names.

    A pin drawn twice on two nets (lepton-netlist lists it in both) must be told
    in ``Board.unused``; one lone pin is in no net here, and in a net of its own
    ("unconnected_pin-3") there.
    """
    ours = board_nodes(board)
    nets = {
        key: [net for net in found if not net.startswith("unconnected_pin")]
        for key, found in theirs.items()
    }
    assert set(ours) == set(nets)
    once = {key: found[0] for key, found in nets.items() if len(found) == 1}
    assert {k for k, net in ours.items() if net is None} == {
        key for key, found in nets.items() if not found
    }
    if once:
        assert partition_differences({k: ours[k] for k in once}, once) == []
    # Nets without a name are numbered there, and named by a pin here.
    named = [n for n in name_differences(board, once) if "unnamed_net" not in n]
    assert named == []
    twice = {f"{ref}.{pin}" for (ref, pin), found in nets.items() if len(found) > 1}
    told = {
        item.where.partition(" ")[0]
        for item in board.unused
        if item.what.startswith("pin drawn on two nets")
    }
    assert told == twice
