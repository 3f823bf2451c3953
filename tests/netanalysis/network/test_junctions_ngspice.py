"""Diode-mode readings agree with ngspice within 1 mV, faults injected or not."""

import math
import random
import re
import subprocess

import pytest
from _junction_networks import d, drawn, r
from _oracles import program

from ohmtrail.netanalysis.network.junction_law import THERMAL_VOLTS as VT
from ohmtrail.netanalysis.network.junction_solve import JunctionSolver

AMPS, OPEN = 1e-3, 3.0


def deck(net, plus, minus, source, wanted):
    name = {node: f"x_{node}" for node in net.nodes} | {minus: "0"}
    lines = ["* reading", source.format(name[plus])]
    for k, one in enumerate(net.resistances):
        # ngspice takes no 0 ohms.
        lines.append(f"R{k} {name[one.a]} {name[one.b]} {max(one.ohms, 1e-6)!r}")
    for k, one in enumerate(net.junctions):
        nvt = one.emission * VT
        # At 24 V it takes 1e-100 A for less; neither conducts at 3 V.
        amps_is = max(1e-3 / math.expm1(min(one.volts / nvt, 600.0)), 1e-100)
        lines.append(f"D{k} {name[one.anode]} {name[one.cathode]} m{k}")
        law = f"is={amps_is!r} n={one.emission} rs={one.ohms_series}"
        lines.append(f".model m{k} d({law})")
    # A hold on what floats.
    # Without epsmin, every Is below 1e-28 A would be taken for that.
    lines.append(".options epsmin=1e-120")
    lines.append(".options rshunt=1e12 reltol=1e-9 abstol=1e-13 temp=27 tnom=27")
    lines += [".control", "set numdgt=16", "op", f"print {wanted.format(name[plus])}"]
    return "\n".join([*lines, "quit", ".endc", ".end", ""])


def ngspice(tmp_path, *what):
    path = tmp_path / "deck.cir"
    path.write_text(deck(*what), encoding="ascii")
    ran = subprocess.run(
        [program("ngspice"), "-b", path], capture_output=True, text=True, check=False
    )
    found = re.search(r"^(?:v\(x_\w+\)|i\(vm\)) = (\S+)", ran.stdout, re.MULTILINE)
    return float(found[1]) if found else None


def read(net, plus, minus, tmp_path):
    """What the meter reads, in two runs, so that no clamp can leak; None: no answer."""
    drawn_amps = ngspice(tmp_path, net, plus, minus, f"VM {{}} 0 {OPEN}", "i(vm)")
    if drawn_amps is None or -drawn_amps <= AMPS:
        return drawn_amps and OPEN
    return ngspice(tmp_path, net, plus, minus, f"IM 0 {{}} {AMPS}", "v({})")


@pytest.mark.parametrize("seed", range(12))
def test_random_networks_with_and_without_faults(seed, tmp_path):
    rng = random.Random(seed)
    net = drawn(rng, 15, 14, 22)
    a, b, c, e = rng.sample(net.nodes, 4)
    lifted = rng.choice(net.junctions).ref
    faults = [r(a, b, 0.05, "short"), r(c, e, 800.0, "leak"), d(c, a, 0.3, ref="new")]
    for case in (net, net.changed(without=[lifted], add=faults)):
        pairs = [tuple(rng.sample(net.nodes, 2)) for _ in range(8)]
        solver = JunctionSolver(case)
        ours = [solver.solve(*pair, AMPS, OPEN).volts for pair in pairs]
        theirs = [read(case, *pair, tmp_path) for pair in pairs]
        both = [(a, b) for a, b in zip(ours, theirs, strict=True) if b is not None]
        # ngspice gives up now and then.
        assert len(both) >= 3
        assert [a for a, _ in both] == pytest.approx([b for _, b in both], abs=1e-3)
