"""What people mean by a suggestion, on the demo board.

Expected parts: the board's drawing (phase B has high sides Q501 and Q502 with gate
resistors R511 and R512, low sides Q503 and Q504; U501 drives them); the words are
common practice, no source.
"""

import pytest

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.diagnosis.claim_parts import focus_of
from ohmtrail.netanalysis.diagnosis.claims import ClaimError, parse_claim
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.recognise import recognise

READ = """
measure,,resistance,VMAIN,GND,0.9,
measure,,resistance,VCORE_1V0,GND,0.7,
"""
LIFTED = READ + "lift,Q501,,,,,"


@pytest.fixture(scope="module")
def view(demo):
    return view_of(demo)


@pytest.fixture
def parse(demo, view, log_of):
    def parsed(text, rows=READ):
        return parse_claim(text, demo, view, focus_of(demo, view, log_of(rows)))

    return parsed


@pytest.fixture
def means(parse):
    """Return (parts, fault) of every item of a suggestion with one meaning."""

    def meant(text, rows=READ):
        (claim,) = parse(text, rows)
        return [(" ".join(item.parts), item.fault) for item in claim.items]

    return meant


@pytest.mark.parametrize(
    ("text", "parts", "fault"),
    [
        ("Q501", "Q501", None),
        ("q501", "Q501", None),
        ("It's Q501.", "Q501", None),
        ("Q501 shorted", "Q501", "short"),
        ("I think Q501 is a dead short", "Q501", "short"),
        ("burnt Q501", "Q501", None),
        ("replace Q501!", "Q501", None),
        ("Q501/Q502", "Q501 Q502", None),
        ("the processor is shorted", "U701", "short"),
        ("it's the CPU", "U701", None),
        ("Q501/502 shorted", "Q501 Q502", "short"),
        ("C503-C506 leaky", "C503 C504 C505 C506", "leaky"),
        ("C503 to C506 leaky", "C503 C504 C505 C506", "leaky"),
        ("C506..C503 leaking", "C503 C504 C505 C506", "leaky"),
        ("R511 or R512 open", "R511 R512", "open"),
        ("R511 drifted", "R511", "drifted"),
        ("R511 is out of value", "R511", "drifted"),
        ("a weak Q502", "Q502", "weakened"),
        ("Q501's gate is shorted", "Q501", "gate short"),
        ("solder bridge at Q501", "Q501", "solder bridge"),
        ("bad gate resistor R511", "R511", None),
        ("gate resistors of Q501", "R511", None),
        ("gate resistor of phase B's high sides open", "R511 R512", "open"),
        ("the high sides of phase 2", "Q501 Q502", None),
        ("low-side FETs of phase C", "Q603 Q604", None),
        ("upper transistors of phase A shorted", "Q401 Q402", "short"),
        ("the mate of Q501", "Q502", None),
        ("the driver of phase B", "U501", "driver output dead"),
        ("snubber of phase B", "R503 C507", None),
        ("pull-down of Q501 open", "R521", "open"),
        ("bootstrap diode of phase B leaky", "D501", "leaky"),
        ("the load on VCORE_1V0", "U701", None),
        ("the big chip on the second rail", "U701", None),
        ("inductor of phase A open", "L401", "open"),
        ("input caps of phase B shorted", "C503 C504 C505 C506", "short"),
        ("LDO of +1V8", "U203", None),
    ],
)
def test_one_noun(means, text, parts, fault):
    assert means(text) == [(parts, fault)]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("bad gate resistor", "R511"),
        ("the gate resistors", "R511 R512"),
        ("both switches of the pair", "Q501 Q502"),
        ("its mate", "Q502"),
        ("the driver", "U501"),
    ],
)
def test_a_noun_alone_is_of_what_the_log_moved(parse, text, parts):
    (claim,) = parse(text, LIFTED)
    assert " ".join(claim.items[0].parts) == parts
    # How it was narrowed is said, and by what.
    assert "Q501, which was lifted or fitted" in claim.notes[0]


def test_without_a_lift_a_noun_alone_is_any_of_the_board(means):
    assert means("the gate resistors")[0][0].split()[:3] == ["R802", "R852", "R103"]


def test_two_suggestions_in_one(means):
    assert means("Q501 and its driver") == [
        ("Q501", None),
        ("U501", "driver output dead"),
    ]
    assert means("Q501 shorted and R511 open") == [("Q501", "short"), ("R511", "open")]
    assert means("Q501 and Q401 bad") == [("Q501", None), ("Q401", None)]


def test_mates_that_are_only_bad_are_one_suspicion(means):
    assert means("Q501 and Q502") == [("Q501 Q502", None)]


def test_its_driver_is_the_output_that_drives_it(parse):
    (claim,) = parse("Q501 and its driver")
    assert [pin.key for pin in claim.items[1].pins] == ["U501.5"]


def test_both_with_a_fault_means_each_of_them(parse):
    (claim,) = parse("both high sides of phase B shorted")
    assert claim.items[0].every
    (claim,) = parse("high sides of phase B shorted")
    assert not claim.items[0].every


def test_a_bridge_between_two_nets(parse):
    (claim,) = parse("solder bridge between VMAIN and VCORE_1V0")
    assert claim.items[0].parts == ()
    assert set(claim.items[0].nets) == {"VMAIN", "VCORE_1V0"}


def test_several_meanings_are_all_reported(parse):
    """Two regulators make a rail of 5 V: U201 and, switched, U803."""
    meanings = parse("the 5V regulator")
    assert [claim.items[0].parts for claim in meanings] == [("U201",), ("U803",)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Q5O1 shorted", "found 'Q5O1' in the suggestion"),
        ("the flux capacitor of Q501 glows", "'flux', 'glows'"),
        ("shorted", "names no part"),
        ("", "names no part"),
        ("the mate of U701", "the board has none there"),
        ("phase", "which one"),
        ("high side of phase F", "phase f"),
        ("the chip on the ninth rail", "'ninth'"),
        ("the chip on the fourth rail", "the log has read 2: VMAIN, VCORE_1V0"),
        ("C503-C5999 shorted", "'C5999'"),
        ("capacitor", "can be any of"),
        ("pin 77 of U501", "no such pin"),
    ],
)
def test_what_is_not_understood_is_one_line(parse, text, words):
    with pytest.raises(ClaimError) as error:
        parse(text)
    assert words in str(error.value)
    assert "\n" not in str(error.value)


def test_the_nearest_refs_are_named(parse):
    with pytest.raises(ClaimError, match=r"nearest on the board: Q501"):
        parse("Q5O1 shorted")


def test_the_big_chip_of_a_rail_lives_on_it():
    """On the three-phase board U1, the controller, only senses VCORE_1V0; U2 is fed."""
    circuit = recognise(load(named_board_path("three_phase")))
    text = "the big chip on VCORE_1V0"
    (claim,) = parse_claim(text, circuit, view_of(circuit))
    assert claim.items[0].parts == ("U2",)
