"""The deck answers as Kirchhoff says; the meter as its data sheet would."""

import pytest
from bench.circuit import Circuit
from bench.meter import Meter
from bench.model import Board, Part
from bench.spice import Spice
from bench.truth import Truth, class_of, number_of


def _two(ref, kind, value, one, other, x, **more):
    pins = (("1", more.pop("first", ""), one), ("2", more.pop("second", ""), other))
    pads = {"1": (-1.0, 0.0), "2": (1.0, 0.0)}
    return Part(ref, kind, value, pins, x, 0.0, pads=pads, **more)


def _board(*parts, rails=()):
    named = {part.ref: part for part in parts}
    return Board("small", named, "GND", dict(rails), [], "", "", "")


def _circuit(*parts, rails=()):
    board = _board(*parts, rails=rails)
    return Circuit(board, Truth(board, 1), 1)


@pytest.fixture
def divider():
    """10k over 10k over 4k7, from A to ground."""
    return _circuit(
        _two("R1", "resistor", "10k", "A", "B", 0.0),
        _two("R2", "resistor", "10k", "B", "GND", 10.0),
        _two("R3", "resistor", "4k7", "B", "GND", 20.0),
    )


def test_a_divider_reads_as_ohm_says(divider):
    # series and parallel, textbook; the resistors are drawn within 1 %
    ohms = {ref: divider.truth.own[ref][0].value for ref in ("R1", "R2", "R3")}
    both = ohms["R2"] * ohms["R3"] / (ohms["R2"] + ohms["R3"])
    high, low, middle = divider.volts(1e-5, ("R1", "1"), ("R2", "2"), [("R2", "1")])
    assert (high - low) / 1e-5 == pytest.approx(ohms["R1"] + both, rel=1e-4)
    assert (middle - low) / 1e-5 == pytest.approx(both, rel=1e-4)
    for ref, marked in (("R1", 10e3), ("R2", 10e3), ("R3", 4.7e3)):
        assert abs(ohms[ref] / marked - 1) <= 0.01


def test_the_current_that_goes_in_comes_out_in_all_branches(divider):
    # Kirchhoff's current law at net B
    high, low, middle = divider.volts(1e-5, ("R1", "1"), ("R2", "2"), [("R2", "1")])
    ohms = {ref: divider.truth.own[ref][0].value for ref in ("R1", "R2", "R3")}
    into = (high - middle) / ohms["R1"]
    out = (middle - low) / ohms["R2"] + (middle - low) / ohms["R3"]
    assert into == pytest.approx(out, rel=1e-4)


def test_lifting_a_part_takes_it_out_and_leaves_its_pads(divider):
    divider.lifted.add("R3")
    divider.changed()
    ohms = divider.truth.own["R2"][0].value
    high, low = divider.volts(1e-5, ("R3", "1"), ("R3", "2"))
    assert (high - low) / 1e-5 == pytest.approx(ohms, rel=1e-4)


def test_ngspice_gives_the_bridge_of_the_textbook():
    # balanced Wheatstone bridge: no current in the middle, so 2 R || 2 R = R
    cards = [f"r{n} {a} {b} 100" for n, (a, b) in enumerate(
        (("a", "b"), ("a", "c"), ("b", "0"), ("c", "0"), ("b", "c")))]  # fmt: skip
    found = Spice(cards, ["a", "b", "c"]).volts({"a": 1e-3}, ["a", "b", "c"])
    assert found["a"] / 1e-3 == pytest.approx(100, rel=1e-9)
    assert found["b"] == pytest.approx(found["c"], rel=1e-9)


def test_neighbours_of_a_short_read_nearly_as_low_and_never_lower():
    # twenty capacitors on a sheet of half a milliohm a square; the third is dead
    parts = [_two(f"C{n}", "capacitor", "10u", "V", "GND", 4.0 * n) for n in range(20)]
    circuit = _circuit(*parts, rails={"V": 5.0})
    circuit.truth.health["C3"].paths.append(("1", "2", 0.2, "short"))
    ohms = {}
    for part in parts:
        high, low = circuit.volts(0.1, (part.ref, "1"), (part.ref, "2"))
        ohms[part.ref] = (high - low) / 0.1
    assert ohms["C3"] == pytest.approx(0.2, rel=1e-3)
    assert min(ohms, key=ohms.get) == "C3"
    # at most 19 squares of both sheets away, and two pads of 0.6 milliohm
    assert max(ohms.values()) < 0.2 + 19 * (0.5e-3 + 0.1e-3) + 2 * 0.6e-3


def test_a_body_diode_drops_as_silicon_does_and_is_open_the_other_way():
    # 0.35 to 0.7 V at 1 mA: common practice, no source
    pins = (("1", "G", "G"), ("2", "S", "S"), ("3", "D", "D"))
    part = Part("Q1", "mosfet", "N", pins, 0.0, 0.0, model="nfet")
    circuit, meter = _circuit(part), Meter(1, exact=True)
    assert 0.35 < meter.read(circuit, "diode", ("Q1", "2"), ("Q1", "3")) < 0.7
    assert meter.read(circuit, "diode", ("Q1", "3"), ("Q1", "2")) is None


def test_the_meter_is_off_by_its_leads_and_gain_and_no_more():
    # gain sd 0.6 %, leads sd 0.03 ohm, contact up to 0.1 ohm, steps of 0.1 ohm
    circuit = _circuit(_two("R1", "resistor", "10R", "A", "GND", 0.0))
    true = circuit.truth.own["R1"][0].value
    seen = [Meter(n).read(circuit, "resistance", ("R1", "1"), ("R1", "2"))
            for n in range(60)]  # fmt: skip
    assert max(abs(value - true) for value in seen) < 5 * (0.006 * 10 + 0.03) + 0.15
    assert len(set(seen)) > 1
    four = [Meter(n).read(circuit, "four-wire", ("R1", "1"), ("R1", "2"))
            for n in range(60)]  # fmt: skip
    assert max(abs(value / true - 1) for value in four) < 5 * 0.006 + 0.002


def test_the_classes_are_those_of_the_trade():
    # common practice, no source
    assert class_of(1.0)[1:] == (0.3, 30.0)
    assert class_of(1.8)[1:] == (10.0, 500.0)
    assert class_of(3.3)[1:] == (50.0, 5e3)
    assert class_of(9.0)[1:] == (200.0, 20e3)
    assert class_of(19.0)[1:] == (1e3, 200e3)


@pytest.mark.parametrize(
    ("text", "ohms"),
    # IEC 60062 letter codes
    [("4k7", 4700.0), ("2R2", 2.2), ("R002", 0.002), ("0R", 0.0), ("100k", 1e5),
     ("1M", 1e6), ("33", 33.0), ("2m", 0.002)],
)  # fmt: skip
def test_drawn_values_mean_what_people_read(text, ohms):
    assert number_of(text) == pytest.approx(ohms)
