"""Laws that hold for any text at all: no crash, no number out of a doubt."""

import math

from hypothesis import example, given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.circuit import KINDS
from ohmtrail.netanalysis.values import parse_value, read_value
from ohmtrail.netanalysis.values._tables import QUANTITY

PIECES = st.sampled_from(
    "0 1 4 7 10 47 100 104 R k K M m u µ n p F H V A Hz % ± +/- / , . - _ @ = ' ( ) "
    "x Ω X7R NP0 0402 DCR DNP NTC 1/4W ? L E e C J".split()
)
SPACE = st.sampled_from(["", " "])
TEXT = st.lists(PIECES | SPACE, max_size=8).map("".join) | st.text(max_size=20)
NUMBERS = (
    "ohms farads henries impedance_ohms at_hertz tolerance tolerance_minus "
    "tolerance_plus volts amps watts"
).split()


@settings(max_examples=3000, deadline=None)
@given(TEXT, st.sampled_from(sorted(KINDS)))
@example("9" * 400 + "k", "resistor")
@example("9" * 400 + "V", "zener")
@example("9" * 400 + "Hz", "crystal")
@example("1/0W", "resistor")
@example("1" + ",000" * 200, "capacitor")
@example("\x1b[1m 47", "resistor")
def test_any_text(text, kind):
    reading = read_value(text, kind)
    value = reading.value
    assert reading.reason.isprintable()
    if value is None:
        assert kind not in QUANTITY or reading.reason
        return
    for name in NUMBERS:
        number = getattr(value, name)
        assert number is None or (number >= 0 and math.isfinite(number)), name
    assert value.ambiguous.isprintable()
    if kind in QUANTITY:
        quantity = getattr(value, QUANTITY[kind])
        assert not (value.ambiguous and quantity is not None)
        assert bool(reading.reason) == (
            quantity is None and not value.not_fitted and value.ohms != 0
        )
    else:
        assert not reading.reason
    assert (value.tolerance is None) == (value.tolerance_minus is None)


@given(TEXT)
def test_a_resistor_is_never_read_as_two_things(text):
    value = parse_value(text, "resistor")
    if value is not None and value.ohms is not None:
        assert value.farads is None
        assert value.henries is None
        assert value.impedance_ohms is None
        assert not value.alternatives


@given(st.floats(0.001, 99e6), st.sampled_from(["", " 5%", "/1W", " 0402"]))
def test_spaces_and_commas_do_not_change_a_resistance(ohms, beside):
    ohms = float(f"{ohms:.3g}")
    for number, unit in ((ohms, "R"), (ohms / 1e3, "k"), (ohms / 1e6, "M")):
        text = f"{number:.9f}"
        for point in (".", ","):
            for apart in ("", " "):
                written = text.replace(".", point) + apart + unit + beside
                value = parse_value(written, "resistor")
                assert math.isclose(value.ohms, ohms, rel_tol=1e-5, abs_tol=1e-3)
