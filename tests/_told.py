"""Stages of a small board as lines of text, to compare with what a drawing shows.

    synchronous buck at SW: VIN -> VOUT
      high Q1; low Q2; L1; driver U1, controller U1
      Q1.1 from U1.4 over R1; off D1; bleed R2

``VIN(VBUS) -> ...`` gives the rail beyond a shunt in brackets.
"""

from _stage_tables import circuit_of

from ohmtrail.netanalysis.circuit import GateChain, Stage


def told(text: str) -> list[str]:
    """Return the stages of a board in shorthand, one or more lines each."""
    return [line for stage in circuit_of(text).stages for line in _lines(stage)]


def lines(text: str) -> list[str]:
    """Return the lines of a block of expected text."""
    return [line.rstrip() for line in text.strip("\n").splitlines() if line.strip()]


def parallel(text: str) -> list[str]:
    """Return the parallel sets of a board in shorthand, one a line."""
    return [
        f"{' '.join(found.parts)}: {found.kind}"
        + (f", gates {found.gates}" if found.gates else "")
        for found in circuit_of(text).parallel_sets
    ]


def _lines(stage: Stage) -> list[str]:
    where = f" at {' '.join(stage.switch_nodes)}" if stage.switch_nodes else ""
    ends = " -> ".join(
        f"{net}" if rail in (net, None) else f"{net}({rail})"
        for net, rail in (
            (stage.input, stage.input_rail),
            (stage.output, stage.output_rail),
        )
    )
    words = []
    for label, refs in (
        ("high ", stage.high_side),
        ("low ", stage.low_side),
        ("", stage.inductors),
        ("boot ", stage.bootstrap),
        ("sense ", stage.current_sense),
        ("snubber ", stage.snubber),
    ):
        if refs:
            words.append(label + " ".join(refs))
    words.append(f"driver {stage.driver}, controller {stage.controller}")
    if stage.missing:
        words.append("missing " + ", ".join(stage.missing))
    head = f"{stage.kind}{where}: {ends}"
    return [
        head,
        "  " + "; ".join(words),
        *(f"  {_chain(chain)}" for chain in stage.gate_chains),
    ]


def _chain(chain: GateChain) -> str:
    words = [f"{chain.gate} from {chain.driver_pin}"]
    for label, refs in (
        (" over ", chain.series),
        ("; off ", chain.turn_off),
        ("; bleed ", chain.pull_down),
    ):
        if refs:
            words.append(label + " ".join(refs))
    return "".join(words)
