"""Small boards in shorthand, read through the typed table.

One line a part: ``ref kind value: pins``.  A pin is ``NAME=NET``, or a net alone
where the part's pins have no names; numbers run from 1.  ``12:NAME=NET`` states
the number.

Import it plainly (``from _stage_tables import circuit_of``).
"""

import csv
import io
import tempfile
from pathlib import Path

from ohmtrail.importers import load
from ohmtrail.netanalysis.circuit import Circuit, Stage
from ohmtrail.netanalysis.recognise import recognise

#: Kinds in shorthand: the table's kind, and what the value says of the channel.
_SHORT = {
    "nmos": ("mosfet", "N-MOSFET"),
    "pmos": ("mosfet", "P-MOSFET"),
    "npn": ("bipolar", "NPN"),
    "pnp": ("bipolar", "PNP"),
    "schottky": ("diode", ""),
}


def typed_table(text: str) -> str:
    """Return the shorthand as a typed table."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(("ref", "pin", "net", "name", "value", "kind"))
    for line in text.strip().replace("\n+ ", " ").splitlines():
        if not line.strip():
            continue
        head, _, pins = line.partition(": ")
        ref, kind, *value = head.split()
        kind, channel = _SHORT.get(kind, (kind, ""))
        value = [channel] if channel else value
        for place, pin in enumerate(pins.split(), start=1):
            number, colon, rest = pin.partition(":")
            if not colon:
                number, rest = str(place), pin
            name, equals, net = rest.partition("=")
            if not equals:
                name, net = "", rest
            net = "" if net == "-" else net
            rows.writerow((ref, number, net, name, " ".join(value), kind))
    return out.getvalue()


def circuit_of(text: str) -> Circuit:
    """Read a board in shorthand and recognise it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "board.csv"
        path.write_text(typed_table(text), encoding="utf-8")
        return recognise(load(path))


def stages_of(text: str) -> list[Stage]:
    """Stages of a board in shorthand."""
    return list(circuit_of(text).stages)


def only_stage(text: str) -> Stage:
    """Return the one stage of a board in shorthand."""
    stages = stages_of(text)
    assert len(stages) == 1, [(s.id, s.because) for s in stages]
    return stages[0]


def chains(stage: Stage) -> dict[str, tuple]:
    """Chains by switch: driver pin, series, turn-off path, pull-down."""
    return {
        f"{c.switch}" if f"{c.switch}" == c.gate.split(".")[0] else c.gate: (
            c.driver_pin,
            c.series,
            c.turn_off,
            c.pull_down,
        )
        for c in stage.gate_chains
    }
