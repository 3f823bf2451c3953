"""Runs lepton-netlist and reads what it writes; imported plainly, as _oracles is."""

import re
import subprocess
from pathlib import Path

from _oracles import program

_NET = re.compile(r"^(.*?) : (.*)$")


def read_geda(text: str):
    """Nodes and parts of a netlist by lepton-netlist's back end ``geda``."""
    section, nodes, parts = "", {}, []
    for line in text.splitlines():
        if line.startswith("START "):
            section = line[6:]
        elif line.startswith("END "):
            section = ""
        elif section == "components" and " device=" in line:
            parts.append(line.partition(" device=")[0])
        elif section in ("nets", '"no-connect" nets') and (m := _NET.match(line)):
            for node in filter(None, m[2].split(", ")):
                ref, _, pin = node.rpartition(" ")
                nodes.setdefault((ref, pin), []).append(m[1])
    return nodes, parts


def run_lepton(root: Path, *more: Path, backend: str = "geda") -> str:
    """Run lepton-netlist in a folder; returns what it writes."""
    out = root.parent / "oracle.net"
    done = subprocess.run(
        [program("lepton-netlist"), "-g", backend, "-o", out.name, root.name]
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
