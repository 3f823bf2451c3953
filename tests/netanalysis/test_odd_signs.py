"""Names that look like something else: pins, nets and values keep their text.

Unicode calls a superscript a digit that is no decimal (UAX 44, Numeric_Type); a file
may hold any text.
"""

import pytest
from _small_boards import board

from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.network.build import build_network
from ohmtrail.netanalysis.probe_points import find_point
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.values import read_value


@pytest.mark.parametrize(
    "line",
    [
        "D1 X - ¹:A²=a ²:K²=b",
        "U1 X - ²:VDD=a ³:GND=GND ¹:IO=c",
        "U1 ACS712 - ¹:=a ²:=a ³:=b ⁴:=b ⁵:=GND",
        "U1 X - ¹:=Net-(U1-VCP) ²:=Net-(U1-VCP) ³:=GND",
        "Q1 X - ¹:=a ²:=b ³:=c ⁴:=c ⁵:=c ⁶:=c",
        "R² 10k - ¹:=a ²:=b",
    ],
)
def test_superscripts_on_pins(line):
    made = board(line)
    circuit = recognise(made, {})
    assert set(circuit.kinds) == set(made.part_by_ref)
    assert {net.name for net in made.nets} <= set(build_network(circuit).nodes)


def test_a_superscript_in_a_value_is_the_digit_it_stands_for():
    # Its compatibility form (UAX 15, NFKC): 2L, the letter code for 2 milliohm.
    assert read_value("²L", "resistor").value.ohms == pytest.approx(2e-3)


def test_a_net_that_is_called_like_a_pad():
    # `pin:` and `net:` settle doubt (the command line's own rule for probe points).
    made = board(
        """
        J1 - - 1:=+5V 2:=GND
        U1 X - 1:VDD=+5V 2:IO=U1.3 3:RES=c 4:GND=GND
        R1 10k - 1:=U1.3 2:=+5V
        C1 1u - 1:=+5V 2:=GND
        """
    )
    circuit = recognise(made, {})
    (section,) = make_checklist(circuit, part="U1").sections
    asked = {
        find_point(made, point).pin.key
        for step in section.steps
        for point in (step.plus, step.minus)
        if point is not None and find_point(made, point).pin is not None
    }
    assert {"U1.2", "U1.3"} <= asked
    assert make_checklist(circuit).sections
