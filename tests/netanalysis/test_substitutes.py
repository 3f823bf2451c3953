"""What a replacement must meet or beat.

Which ratings count: common practice, no source; one type and lot for paralleled
switches: REFERENCES I, "Paralleled MOSFETs".  Values: the demo board as drawn, and
small boards in the tests.
"""

from dataclasses import replace

import pytest
from _small_boards import board

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.board import make_board
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.substitutes import (
    mixed_set,
    shortfalls,
    substitute,
    substitute_lines,
)

BUCK = """
    J1 PLUG - 1:=+12V 2:=GND
    U1 BUCK-CTRL - 1:VIN=+12V 2:GND=GND 3:UG=g1 4:LG=g2 5:SW=SW 6:FB=+5V
    Q1 {one} Device:Q_NMOS_GDS G=g1 D=+12V S=SW fp:lib:PPAK
    Q2 {two} Device:Q_NMOS_GDS G=g1 D=+12V S=SW fp:lib:PPAK
    Q3 {low} Device:Q_NMOS_GDS G=g2 D=SW S=GND fp:lib:PPAK
    L1 1u Device:L 1:=SW 2:=+5V
    C1 10u~25V~X7R Device:C 1:=+12V 2:=GND
    C2 100n Device:C 1:=+12V 2:=GND
    C3 10u~6.3V~X5R Device:C 1:=+12V 2:=GND
"""


def small(one="NX", two="NX", low="NX"):
    circuit = recognise(board(BUCK.format(one=one, two=two, low=low)))
    return circuit, view_of(circuit)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    circuit = recognise(load(write_demo(tmp_path_factory.mktemp("demo"))[0]))
    return circuit, view_of(circuit)


def known(found):
    return {one.name: (one.rule, one.value) for one in found.required}


def test_a_switch(demo):
    found = substitute(*demo, "Q501")
    assert found.mates == ("Q502",)
    assert known(found) == {
        "sort": ("the same", "n-channel"),
        "drain-source voltage": ("at least", 30.0),
        "on-resistance": ("at most", pytest.approx(5e-3)),
        "package": ("the same", "5x6"),
        "pin order": ("the same", "1=S 2=S 3=S 4=G 5=D"),
    }
    assert [one.name for one in found.unknown] == [
        "drain current",
        "gate charge",
        "gate threshold",
        "gate-source voltage",
    ]
    # Its own rating, beside what the circuit puts on it.
    source = next(o for o in found.required if o.name == "drain-source voltage").source
    assert "VMAIN is 19 V" in source


def test_a_switch_of_which_only_the_circuit_tells():
    """12 V at the drain, and half as much again."""
    circuit, view = small()
    for ref in ("Q1", "Q3"):
        volts = known(substitute(circuit, view, ref))["drain-source voltage"]
        assert volts == ("at least", 18.0)


@pytest.mark.parametrize(
    ("ref", "name", "rule", "value"),
    [
        ("C503", "capacitance", "the same", 10e-6),
        ("C503", "voltage", "at least", 25.0),
        ("C503", "dielectric", "the same", "X5R"),
        ("C107", "capacitance", "the same", 100e-6),
        ("D901", "reverse voltage", "at least", 100.0),
        ("D901", "forward current", "at least", 3.0),
        ("D101", "stand-off voltage", "the same", 22.0),
        ("L501", "inductance", "the same", 220e-9),
        ("L501", "saturation current", "at least", 45.0),
        ("R511", "resistance", "the same", 2.2),
        ("R101", "tolerance", "at most", 0.01),
        ("R101", "power", "at least", 1.0),
        ("F101", "current", "the same", 7.0),
        ("F101", "voltage", "at least", 32.0),
        ("FB701", "impedance", "the same", 120.0),
        ("U501", "type", "the same", "XTK-120"),
    ],
)
def test_other_parts(demo, ref, name, rule, value):
    found = known(substitute(*demo, ref))[name]
    assert found[0] == rule
    assert found[1] == (value if isinstance(value, str) else pytest.approx(value))


def test_what_nobody_tells_is_listed(demo):
    assert "breaking capacity" in {
        one.name for one in substitute(*demo, "F101").unknown
    }
    # A ceramic capacitor is not asked for its ripple current, a can is.
    assert "ripple current" not in {o.name for o in substitute(*demo, "C503").unknown}
    assert "ripple current" in {o.name for o in substitute(*demo, "C107").unknown}


def test_a_rating_below_what_the_circuit_puts_on_it_is_said():
    """6.3 V on a rail of 12 V."""
    circuit, view = small()
    (note,) = substitute(circuit, view, "C3").notes
    assert "6.3 V" in note
    assert "+12V is 12 V" in note
    assert substitute(circuit, view, "C1").notes == ()


def test_mixed_sets_are_refused_with_the_reason():
    circuit, view = small("NX", "NY")
    reason = mixed_set(circuit, {"Q1": "NX", "Q2": "NY"})
    assert reason.startswith("mixed set refused: Q1 NX, Q2 NY")
    assert "one lot" in reason
    assert mixed_set(circuit, {"Q1": "NX", "Q2": " nx "}) == ""
    # As drawn it is mixed already: that is said where the part is asked for.
    assert any("mixed set" in note for note in substitute(circuit, view, "Q1").notes)


def test_half_a_set_is_refused():
    circuit, _ = small()
    assert "incomplete set" in mixed_set(circuit, {"Q1": "NX", "Q3": "NX"})
    assert mixed_set(circuit, {"Q3": "NY"}) == ""


def test_capacitors_in_parallel_may_differ():
    circuit, _ = small()
    assert mixed_set(circuit, {"C1": "10u", "C2": "100n", "C3": "1u"}) == ""


OFFER = {
    "sort": "n-channel",
    "drain-source voltage": 40.0,
    "on-resistance": 4e-3,
    "package": "5x6",
    "pin order": "1=S 2=S 3=S 4=G 5=D",
}


def test_an_offered_part_that_beats_all_that_is_known(demo):
    missing = shortfalls(substitute(*demo, "Q501"), OFFER)
    # What is not known of the old part stays to be looked up: never a silent yes.
    assert [text.partition(":")[0] for text in missing] == [
        "drain current",
        "gate charge",
        "gate threshold",
        "gate-source voltage",
    ]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("sort", "p-channel"),
        ("drain-source voltage", 25.0),
        ("on-resistance", 8e-3),
        ("package", "3x3"),
        ("pin order", "1=G 2=S 3=S 4=S 5=D"),
    ],
)
def test_an_offered_part_that_falls_short(demo, name, value):
    missing = shortfalls(substitute(*demo, "Q501"), OFFER | {name: value})
    assert sum(text.startswith(f"{name}: ") for text in missing) == 1


def test_a_steadier_dielectric_is_better(demo):
    """EIA-198: C0G is steadier than X5R, Y5V is not."""
    wanted = substitute(*demo, "C503")
    offer = {"capacitance": 10e-6, "voltage": 25.0, "package": "CHIP_1206"}
    for dielectric, fails in (("C0G", 0), ("X7R", 0), ("X5R", 0), ("Y5V", 1)):
        missing = shortfalls(wanted, offer | {"dielectric": dielectric})
        assert sum(text.startswith("dielectric") for text in missing) == fails


def test_lines_for_a_set(demo):
    lines = substitute_lines(*demo, ["Q501", "Q502", "R511"])
    assert len(lines) == 2
    assert lines[0].startswith("Q501 Q502: ")
    assert "drain-source voltage at least 30 V" in lines[0]
    assert "Look up: drain current" in lines[0]


def test_every_part_of_the_board_has_an_answer(demo):
    circuit, view = demo
    for part in circuit.board.parts:
        found = substitute(circuit, view, part.ref)
        assert all(one.value is not None for one in found.required)
        assert all(one.value is None for one in found.unknown)


BOOST = """
    J1 PLUG - 1:=+12V 2:=GND
    U1 UP-CTRL - 1:VIN=+12V 2:GND=GND 3:DRV=g1 6:FB=fb
    L1 10u Device:L 1:=+12V 2:=SW
    Q1 NX Device:Q_NMOS_GDS G=g1 D=SW S=GND
    D1 - Device:D_Schottky A=SW K={out}
    C1 10u Device:C 1:=+12V 2:=GND
    C2 10u Device:C 1:={out} 2:=GND
    R1 100k Device:R 1:={out} 2:=fb
    R2 10k Device:R 1:=fb 2:=GND
    J2 PLUG - 1:={out} 2:=GND
"""
INVERTING = """
    J1 PLUG - 1:=+12V 2:=GND
    U1 INV-CTRL - 1:VIN=+12V 2:GND=GND 3:GATE=g1 6:FB=fb
    Q1 PX Device:Q_PMOS_GDS G=g1 D=SW S=+12V
    L1 10u Device:L 1:=SW 2:=GND
    D1 - Device:D_Schottky A=-12V K=SW
    C1 10u Device:C 1:=+12V 2:=GND
    C2 10u Device:C 1:=-12V 2:=GND
    J2 PLUG - 1:=-12V 2:=GND
"""


@pytest.mark.parametrize(
    ("text", "kind", "stands"),
    [
        # The switch of a boost stands its output, that of an inverting converter
        # input and output together (textbooks on converters; from memory).
        (BOOST.format(out="+24V"), "boost", 24.0),
        (INVERTING, "buck-boost", 24.0),
        # A string of LEDs: nobody says how high it goes, and the input is no answer.
        (BOOST.format(out="LED_A"), "boost", None),
    ],
)
def test_what_a_converter_puts_on_its_switch(text, kind, stands):
    circuit = recognise(board(text))
    assert [one.kind for one in circuit.stages if "Q1" in one.low_side + one.high_side]
    assert kind in {one.kind for one in circuit.stages}
    view = view_of(circuit)
    for ref, name in (("Q1", "drain-source voltage"), ("D1", "reverse voltage")):
        found = substitute(circuit, view, ref)
        if stands is None:
            assert name in {one.name for one in found.unknown}
        else:
            # Half as much again, as practice has it where no rating is known.
            assert known(found)[name] == ("at least", pytest.approx(1.5 * stands))


def test_a_capacitor_between_two_grounds_has_a_rating_that_no_rail_tells():
    """It may bridge an isolation: then it is a safety part (common practice)."""
    circuit = recognise(
        board(
            """
            J1 PLUG - 1:=+5V 2:=GND
            C1 10u Device:C 1:=+5V 2:=GND
            C2 10u Device:C 1:=+5V 2:=GND
            C9 2n2 Device:C 1:=GND 2:=AGND
            U1 LOGIC - VDD=+5V VSS=GND AGND=AGND
            U2 LOGIC - VDD=+5V VSS=AGND
            """
        )
    )
    assert {"GND", "AGND"} <= set(circuit.ground)
    found = substitute(circuit, view_of(circuit), "C9")
    assert "voltage" in {one.name for one in found.unknown}


def field(kind, name, text):
    ref = {"mosfet": "Q1", "resistor": "R1"}[kind]
    value = {"mosfet": "NX Device:Q_NMOS_GDS G=a D=b S=c", "resistor": "1k Device:R"}
    line = f"{ref} {value[kind]}" + ("" if kind == "mosfet" else " 1:=a 2:=b")
    made = board(line)
    part = replace(made.parts[0], fields=((name, text),))
    one = make_board(name="b", format="f", version="", parts=[part])
    circuit = recognise(one)
    return substitute(circuit, view_of(circuit), ref)


def test_parts_a_million_are_no_picos():
    found = field("resistor", "TCR", "100 ppm/K")
    assert known(found)["temperature coefficient"] == ("at most", 100.0)


@pytest.mark.parametrize(
    ("text", "volts"), [("1,200 V", None), ("2,5 kV", 2500.0), ("1200 V", 1200.0)]
)
def test_a_comma_that_may_group_thousands_is_not_guessed_at(text, volts):
    # 1,200 V is 1200 V in one country and 1.2 V in another: a switch for 1.2 V in
    # place of one for 1200 V would burn.  Nothing is guessed.
    found = field("mosfet", "Vds", text)
    if volts is None:
        assert "drain-source voltage" in {one.name for one in found.unknown}
    else:
        assert known(found)["drain-source voltage"] == ("at least", volts)
