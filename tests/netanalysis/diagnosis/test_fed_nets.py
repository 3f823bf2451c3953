"""Which shorts can hold a supply at its limit: those that it feeds.

Ohm: behind 10 kilo-ohms a 5 V rail gives half a milliampere, and no supply limits at
that.
"""

import pytest

from ohmtrail.netanalysis.diagnosis.candidates import readings_worth
from ohmtrail.netanalysis.diagnosis.fed_nets import fed_nets
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.power_evidence import power_evidence
from ohmtrail.netanalysis.diagnosis.rank import case_of

LIMIT = "power,,,VMAIN,GND,limit,\n"


@pytest.mark.parametrize(
    ("net", "fed"),
    [
        ("VCORE_1V0", True),
        ("Net-(U401-VCC)", True),  # a driver's own supply
        ("/Core/Phase A/BOOT", True),
        ("/Core/Phase A/SW", True),
        ("Net-(Q401-G)", True),  # behind a gate resistor of 2.2 ohms
        ("/Power entry/PASS_S", True),  # between the two pass switches
        ("/Core/VREF", False),
        ("/Logic/IMON", False),
        ("/Logic/POWER_BTN#", False),
        ("/Supplies/FB_5V", False),
        ("GND", False),
    ],
)
def test_what_a_supply_feeds(demo, log_of, net, fed):
    assert (net in fed_nets(case_of(demo, log_of("")))) is fed


def test_a_supply_at_its_limit_suspects_no_sense_line(demo, log_of):
    case = case_of(demo, log_of(LIMIT))
    fed = fed_nets(case)

    def told(ref):
        fault = next(f for f in case.faults if (f.ref, f.name) == (ref, "short"))
        return power_evidence(case, Hypothesis(((fault, 0),), 0.0), fed)

    nets = {part.ref: {pin.net for pin in part.pins} for part in demo.board.parts}
    monitor = next(
        ref
        for ref, mine in nets.items()
        if mine == {"/Logic/IMON", "GND"} and ref.startswith("C")
    )
    assert told("C704") > told(monitor) + 3
    asked = readings_worth(case, ("C704", monitor), ("resistance",))
    assert all(one.reading.plus.net != "/Logic/IMON" for one in asked)
