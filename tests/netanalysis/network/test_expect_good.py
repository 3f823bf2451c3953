"""What the circuit says beside what a good board reads.

How far boards of one model differ is common practice, without a source.
"""

import math

import pytest
from _bench_logs import HEADER
from _small_boards import board

from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.network.evidence import gather, spread
from ohmtrail.netanalysis.network.expect_good import beside_good_board, narrowed_board
from ohmtrail.netanalysis.network.expect_ohms import ohms_between
from ohmtrail.netanalysis.network.expectation import Expectation, unknown
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.recognise import recognise

CIRCUIT = recognise(
    board(
        """
        J1 PLUG - 1:=VIN 2:=GND
        U3 CTRL - 1:VIN=VIN 2:GND=GND 3:EN=EN
        R1 10k Device:R 1:=VIN 2:=EN
        R2 100k Device:R 1:=VIN 2:=GND
        """
    ),
    {"VIN": 12.0},
)


def evidence(*rows):
    return gather(CIRCUIT, read_log("\n".join((HEADER, *rows)), CIRCUIT.board))


def computed(low, high):
    return Expectation(
        "resistance", "EN", "GND", low, None, high, "ohms", ("R1",), "R1"
    )


READ = evidence(",measure,,resistance,EN,GND,4k7,")


def test_both_ranges_together():
    found = beside_good_board(computed(4.5e3, math.inf), READ, "EN", "GND")
    assert found.low == 4.5e3
    assert found.high == pytest.approx(spread("resistance", 4.7e3)[1])
    assert found.typical == 4.7e3
    assert found.source == "good board, line 2; R1"


def test_ranges_that_do_not_meet_are_joined_and_said():
    found = beside_good_board(computed(9.5e3, 10.5e3), READ, "EN", "GND")
    assert found.low < 4.7e3
    assert found.high == 10.5e3
    assert "does not fit" in found.notes[0]


def test_where_the_circuit_tells_nothing_the_reading_does():
    found = beside_good_board(
        unknown("resistance", "EN", "GND", "-"), READ, "EN", "GND"
    )
    assert (found.low, found.high) == spread("resistance", 4.7e3)


def test_no_reading_changes_nothing():
    expected = computed(1e3, 2e3)
    assert beside_good_board(expected, READ, "GND", "EN") is expected
    off = frozenset({"R1"})
    assert beside_good_board(expected, READ, "EN", "GND", off) is expected


def test_a_rails_reading_narrows_what_is_expected_there():
    drawn = SolvedBoard(CIRCUIT)
    wide = ohms_between(drawn, "resistance", [("VIN", "GND")])[0]
    read = evidence(",measure,,resistance,VIN,GND,15k,")
    narrowed, doubts = narrowed_board(drawn, read)
    close = ohms_between(narrowed, "resistance", [("VIN", "GND")])[0]
    assert doubts == ()
    assert close.low < 15e3 < close.high
    assert close.typical == pytest.approx(15e3, rel=0.03)
    assert wide.high / wide.low > 5
    assert close.high / close.low < 2.2


def test_readings_of_another_state_leave_the_board_alone():
    lifted = SolvedBoard(CIRCUIT).lifted(["R2"])
    read = evidence(",measure,,resistance,VIN,GND,15k,")
    assert narrowed_board(lifted, read) == (lifted, ())
