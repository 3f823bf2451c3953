"""The bench log as people type it and spreadsheets save it.

What each row means is stated in the text that fixes the log's form (its example and
the lines below it); where a test rests on more than that it says so.
"""

import math

import pytest
from _bench_logs import BOARD, EXAMPLE, HEADER, first, read

from ohmtrail.netanalysis.diagnosis.log import LogError
from ohmtrail.netanalysis.diagnosis.log_text import decode_log, read_log


def told(event):
    """What a row says, in short."""
    points = tuple(str(p) if p is not None else None for p in (event.plus, event.minus))
    said = event.word or event.value
    return (event.action, event.part, event.mode, *points, said)


def test_every_row_of_the_example():
    log = read_log(EXAMPLE, BOARD, "log.csv")
    assert [told(event) for event in log.events] == [
        ("look", "Q12", "", None, None, "burnt"),
        ("measure", None, "resistance", "VMAIN", "GND", 0.9),
        ("measure", None, "diode", "GND", "Q12.5", 0.001),
        ("lift", "Q12", "", None, None, None),
        ("measure", None, "resistance", "VMAIN", "GND", 420e3),
        ("measure", "Q12", "resistance", "Q12.5", "Q12.1", 0.7),
        ("fit", "Q12", "", None, None, "new"),
        ("power", None, "", "VIN", "GND", "died"),
    ]
    assert [event.line for event in log.events] == list(range(2, 10))
    assert log.events[0].when == "2026-03-02T10:02"
    assert log.events[-1].note == "19 V, limit 0.5 A; fan twitched"
    assert log.events[5].off_the_board
    assert not log.events[1].off_the_board


def test_a_pad_is_a_pad_and_a_net_a_net():
    event = first(",measure,,diode,GND,Q12.5,0.4,")
    assert event.plus.pin is None
    assert (event.minus.pin.key, event.minus.net) == ("Q12.5", "VMAIN")
    assert event.nets == ("GND", "VMAIN")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("SW", "/Core/SW"), ("net:SW", "/Core/SW"), ("pin:Q12.5", "Q12.5")],
)
def test_points_by_last_component_or_prefix(typed, meant):
    assert str(first(f",measure,,resistance,{typed},GND,1k,").plus) == meant


def test_injection_has_volts_amperes_and_what_got_hot():
    event = first(",inject,C9,,VMAIN,GND,0.8V 2.1A,")
    assert (event.volts, event.amps, event.part) == (0.8, 2.1, "C9")
    event = first(",inject,,,VMAIN,GND,0.8V 2.1A,nothing warm")
    assert event.part is None


@pytest.mark.parametrize("word", ["ok", "burnt", "cracked", "wet", "reworked"])
def test_looks(word):
    assert first(f",look,Q12,,,,{word},").word == word


@pytest.mark.parametrize("word", ["runs", "limit", "dead", "died"])
def test_power_ups(word):
    assert first(f",power,,,VIN,GND,{word},").word == word


def test_a_point_that_could_not_be_reached():
    event = first(",measure,,resistance,U3.3,GND,n/a,under the coil")
    assert event.unreachable
    assert event.value is None


def test_open_is_infinite():
    event = first(",measure,,resistance,U3.3,GND,OL,")
    assert event.value == math.inf
    assert not event.unreachable


def test_when_may_be_empty_and_never_sorts():
    log = read(
        "2026-03-02,measure,,resistance,VMAIN,GND,2,",
        ",measure,,resistance,VMAIN,GND,3,",
        "2026-03-01,measure,,resistance,VMAIN,GND,4,",
    )
    assert [event.value for event in log.events] == [2.0, 3.0, 4.0]


def test_unknown_columns_are_kept():
    log = read(
        "R.B.,measure,,resistance,VMAIN,GND,2,21.5",
        ",lift,Q12,,,,,",
        header="Who,action,part,mode,plus,minus,value,Room °C",
    )
    assert log.extra_columns == ("Who", "Room °C")
    assert log.events[0].extra == (("Who", "R.B."), ("Room °C", "21.5"))
    assert log.events[1].extra == ()


def test_a_sheet_that_capitalises_words():
    # Spreadsheets put a capital at the start of a cell (common practice, no source).
    event = first(",Measure,,Resistance,VMAIN,GND,ol,")
    assert (event.action, event.mode, event.value) == (
        "measure",
        "resistance",
        math.inf,
    )


@pytest.mark.parametrize("mark", ["", "\N{BYTE ORDER MARK}"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_sheets_as_spreadsheets_save_them(mark, end, separator):
    # RFC 4180 has CRLF and the comma; separators and the mark are what spreadsheets
    # of other countries write (common practice, no source).
    rows = [
        HEADER,
        "",
        ",measure,,resistance,VMAIN,GND,12.6,a note",
        ",,,,,,,",
        ",lift,Q12,,,,,",
    ]
    text = mark + end.join(row.replace(",", separator) for row in rows) + end
    log = read_log(decode_log(text.encode()), BOARD, "log.csv")
    assert [(event.line, event.action) for event in log.events] == [
        (3, "measure"),
        (5, "lift"),
    ]
    assert log.events[0].value == 12.6
    assert log.events[0].note == "a note"


def test_decimal_comma_where_semicolons_separate():
    head = HEADER.replace(",", ";")
    assert first(";measure;;resistance;VMAIN;GND;12,6;", header=head).value == 12.6
    event = first(";inject;;;VMAIN;GND;0,8V 2,1A;", header=head)
    assert (event.volts, event.amps) == (0.8, 2.1)


def test_a_note_over_two_lines_and_with_quotes():
    log = read(
        ',measure,,resistance,VMAIN,GND,2,"one\ntwo ""three"", four"',
        ",lift,Q12,,,,,",
    )
    assert log.events[0].note == 'one\ntwo "three", four'
    assert [event.line for event in log.events] == [2, 4]


def test_what_reads_oddly_is_said():
    log = read(
        ",lift,C9,,,,,",
        ",measure,,drop,Q12.5,J1.2,0.004,",
        ",inject,,,VMAIN,GND,0.8V 2.1A,",
        ",measure,,drop,Q12.5,J1.2,0.004,",
    )
    assert [line for line, _ in log.doubts] == [2, 3]


def test_names_are_found_as_the_commands_find_them():
    # The reader looks among few nets; the answer must be that of the slow way.
    from ohmtrail.netanalysis.diagnosis.log_row import Names
    from ohmtrail.netanalysis.nearest import NotOnBoardError
    from ohmtrail.netanalysis.probe_points import find_point

    names = Names(BOARD)

    def answer(find, text):
        try:
            return find(text)
        except (NotOnBoardError, LogError) as error:
            return str(error).removeprefix("found ")

    typed = [net.name for net in BOARD.nets] + [
        "sw", "Core/SW", "/SW", "core/sw", "net:en", "net:VMAIN", "pin:U3.4", "U3.4",
        "vmain", "pin:VMAIN", "Q12.9", "net:", "/", "SW/", "pin:", "x" * 299,
    ]  # fmt: skip
    for text in typed:
        expected = answer(lambda text: find_point(BOARD, text), text)
        assert answer(names.point, text) == expected
