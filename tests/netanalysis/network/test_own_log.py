"""What the board's own log says of the board as it is now."""

from _bench_logs import BOARD, read

from ohmtrail.netanalysis.circuit import Circuit, Rail
from ohmtrail.netanalysis.network.evidence import gather
from ohmtrail.netanalysis.network.own_log import holding, state_now

CIRCUIT = Circuit(
    BOARD, ground=("GND",), rails=(Rail("VMAIN", 12.0, None, (), (), "test"),)
)
FIRST = ",measure,,resistance,VMAIN,GND,6k0,"
PAIR = ("resistance", "VMAIN", "GND")


def counts(*rows, off=()):
    """Lines whose reading of the rail counts with these parts off."""
    own = gather(CIRCUIT, own=read(FIRST, *rows)).own
    return [one.line for one in own.get((*PAIR, frozenset(off)), ())]


def test_parts_off_the_board_are_those_of_the_last_row():
    state = state_now(read(",lift,Q12,,,,,", ",lift,Q13,,,,,", ",fit,Q12,,,,new,"))
    assert state.lifted == {"Q13"}
    assert "Q12" in state.fitted
    assert state_now(read(",look,Q13,,,,missing,")).lifted == {"Q13"}
    # The drawing leaves C9 out; somebody put one in.
    assert state_now(read(",fit,C9,,,,new,")).fitted == {"C9"}
    assert state_now(read(FIRST)).lifted == frozenset()


def test_a_reading_counts_for_the_parts_that_were_on():
    assert counts() == [2]
    assert counts(",lift,Q12,,,,,") == [2]
    assert counts(",lift,Q12,,,,,", off=["Q12"]) == []
    again = ",measure,,resistance,VMAIN,GND,7k0,"
    assert counts(",lift,Q12,,,,,", again, off=["Q12"]) == [4]
    # Back in its place, the same part: the board of the first reading.
    assert counts(",lift,Q12,,,,,", ",fit,Q12,,,,same,") == [2]


def test_a_new_part_makes_another_board():
    back = (",lift,Q12,,,,,", ",fit,Q12,,,,new,")
    assert counts(*back) == []
    # With the place empty it does not matter which piece is in it now.
    between = ",measure,,resistance,VMAIN,GND,7k0,"
    assert counts(back[0], between, back[1], off=["Q12"]) == [4]


def test_power_and_injection_begin_another_board():
    assert counts(",power,,,VIN,GND,died,") == []
    assert counts(",power,,,VIN,GND,runs,") == []
    assert counts(",inject,,,VMAIN,GND,0.8V 2A,") == []


def test_what_could_not_be_read_does_not_count():
    rows = (",measure,,resistance,VMAIN,GND,n/a,",)
    assert [one.event.line for one in holding(read(*rows))] == [2]
    assert gather(CIRCUIT, own=read(*rows)).own == {}
