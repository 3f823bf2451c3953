"""Parallel sets where drawings make them hard to see, or only seem to make them.

The rule is that of the trade: same drain, same source, and gates that follow one
drive (own gate resistors count).  Answers read off the drawings by hand.
"""

import pytest
from _small_boards import view
from _told import parallel

from ohmtrail.netanalysis.recognise.parallel import find_parallel_sets

DRIVER = "U1 chip DRV: VDD=VIN GND=GND INA=PA INB=PB OUTA=OA OUTB={b}\n"


def test_gate_resistors_with_diodes_beside_them():
    assert parallel(
        DRIVER.format(b="OB")
        + """
Q1 nmos N: G=GA D=VO S=SH
Q2 nmos N: G=GB D=VO S=SH
R1 resistor 4R7: OA GA
R2 resistor 4R7: OA GB
D1 schottky S: A=GA K=OA
D2 schottky S: A=GB K=OA
R3 resistor 10k: GA SH
R4 resistor 10k: GB SH
"""
    ) == ["Q1 Q2: mosfet, gates own resistors"]


def test_turn_on_and_turn_off_resistors_each():
    assert parallel("""
U1 chip DRV: VDD=VIN GND=GND IN=PA OUTH=OH OUTL=OL
Q1 nmos N: G=GA D=VO S=GND
Q2 nmos N: G=GB D=VO S=GND
R1 resistor 4R7: OH GA
R2 resistor 1R: OL GA
R3 resistor 4R7: OH GB
R4 resistor 1R: OL GB
""") == ["Q1 Q2: mosfet, gates own resistors"]


def test_outputs_of_a_driver_tied_together():
    assert parallel(
        DRIVER.format(b="OA")
        + """
Q1 nmos N: G=GA D=VO S=GND
Q2 nmos N: G=GB D=VO S=GND
R1 resistor 4R7: OA GA
R2 resistor 4R7: OA GB
"""
    ) == ["Q1 Q2: mosfet, gates own resistors"]


def test_outputs_of_a_driver_kept_apart():
    """Either may be off while the other is on: a meter tells them apart."""
    assert (
        parallel(
            DRIVER.format(b="OB")
            + """
Q1 nmos N: G=GA D=VO S=GND
Q2 nmos N: G=GB D=VO S=GND
R1 resistor 4R7: OA GA
R2 resistor 4R7: OB GB
"""
        )
        == []
    )


def test_one_gate_resistor_for_all():
    assert parallel(
        DRIVER.format(b="OB")
        + """
Q1 nmos N: G=GA D=VO S=GND
Q2 nmos N: G=GA D=VO S=GND
Q3 nmos N: G=GA D=VO S=GND
R1 resistor 4R7: OA GA
"""
    ) == ["Q1 Q2 Q3: mosfet, gates shared"]


def test_of_three_one_is_not_fitted():
    sets = find_parallel_sets(
        view("""
Q1 FDS Device:Q_NMOS_GDS G=GA D=VO S=GND
Q2 FDS Device:Q_NMOS_GDS dnp G=GA D=VO S=GND
Q3 FDS Device:Q_NMOS_GDS G=GA D=VO S=GND
""")
    )
    assert [found.parts for found in sets] == [("Q1", "Q3")]


def test_of_two_one_is_not_fitted():
    sets = find_parallel_sets(
        view("""
Q1 FDS Device:Q_NMOS_GDS G=GA D=VO S=GND
Q2 FDS Device:Q_NMOS_GDS dnp G=GA D=VO S=GND
""")
    )
    assert sets == ()


def test_both_halves_of_a_dual_in_parallel():
    """One package alone is no set; two packages are."""
    half = "{q} mosfet DUAL_N: S1=SX G1=GX S2=SX G2=GX D1=DX D2=DX\n"
    assert parallel(half.format(q="Q1")) == []
    assert parallel(half.format(q="Q1") + half.format(q="Q2")) == [
        "Q1 Q2: mosfet, gates shared"
    ]


def test_halves_of_two_duals_across():
    """Each package holds one switch of either side: both sides are the same pair."""
    assert parallel("""
Q1 mosfet DUAL_N: S1=SW G1=GH S2=GND G2=GL D1=VIN D2=SW
Q2 mosfet DUAL_N: S1=SW G1=GH S2=GND G2=GL D1=VIN D2=SW
""") == ["Q1 Q2: mosfet, gates shared"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "R1 resistor 1m: A B\nR2 resistor 1m: B A\n",
            ["R1 R2: resistor"],
        ),
        ("L1 inductor 1u: A B\nL2 inductor 1u: A B\n", ["L1 L2: inductor"]),
        (
            "D1 schottky S: A=A K=B\nD2 schottky S: A=A K=B\nD3 schottky S: A=B K=A\n",
            ["D1 D2: diode"],
        ),
        (
            "R1 resistor 1m: I1=A I2=B S1=P S2=N\n"
            "R2 resistor 1m: I1=A I2=B S1=P2 S2=N2\n",
            ["R1 R2: resistor"],
        ),
    ],
    ids=["shunts", "inductors", "diodes", "four-terminal shunts by name"],
)
def test_parts_with_two_ends(text, expected):
    assert parallel(text) == expected
