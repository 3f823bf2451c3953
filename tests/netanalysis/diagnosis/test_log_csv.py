"""What is written reads back as what it was."""

from dataclasses import replace

from _bench_logs import BOARD, read
from _small_boards import board
from hypothesis import given
from hypothesis import strategies as st

from ohmtrail.fixtures import demo_files
from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.diagnosis.log_csv import log_csv, point_text
from ohmtrail.netanalysis.diagnosis.log_text import decode_log, read_log
from ohmtrail.netanalysis.probe_points import find_point

PADS = [pin.key for part in BOARD.parts for pin in part.pins]
POINTS = st.sampled_from([*PADS, *(net.name for net in BOARD.nets), "SW", "net:GND"])
OHMS = st.sampled_from(["12.6", "12R6", "4k7", "420k", "0.9", "0 Ω", "OL", "n/a"])
VOLTS = st.sampled_from(["0.452", "0.452V", "452 mV", "0.001", "n/a"])
FREE = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0\r"), max_size=20
)


def measured(mode, values):
    return st.tuples(
        st.just("measure"), st.just(""), st.just(mode), POINTS, POINTS, values
    )


ROW = st.one_of(
    measured("resistance", OHMS),
    measured("four-wire", OHMS),
    measured("diode", VOLTS),
    measured("voltage", VOLTS),
    st.sampled_from(
        [
            ("look", "Q12", "", "", "", "wet"),
            ("look", "U3", "", "", "", "ok"),
            ("fit", "Q13", "", "", "", "new"),
            ("inject", "C9", "", "VMAIN", "GND", "0.8V 2.1A"),
            ("inject", "", "", "Q12.5", "GND", "800mV 1 A"),
            ("power", "", "", "VIN", "GND", "limit"),
            ("power", "", "", "", "", "runs"),
        ]
    ),
)


def quoted(cells):
    return ",".join('"' + cell.replace('"', '""') + '"' for cell in cells)


def unnumbered(log):
    events = tuple(replace(event, line=0) for event in log.events)
    return replace(
        log, events=events, doubts=tuple((0, what) for _, what in log.doubts)
    )


@given(st.lists(st.tuples(FREE, ROW, FREE, FREE), max_size=8))
def test_write_then_read(rows):
    header = "when,action,part,mode,plus,minus,value,note,Room"
    log = read(
        *(quoted([when, *row, note, room]) for when, row, note, room in rows),
        header=header,
    )
    again = read_log(log_csv(log, BOARD), BOARD, "log.csv")
    assert unnumbered(again) == unnumbered(log)


def test_the_demo_boards_log_comes_back_byte_for_byte():
    data = next(f for f in demo_files() if f.name == "bench_log.csv").read_bytes()
    from importlib.resources import as_file, files

    with as_file(files("ohmtrail.fixtures") / "demo" / "sk4.kicad_sch") as root:
        demo = load(root, None)
    log = read_log(decode_log(data), demo, "bench_log.csv")
    assert len(log.events) == data.count(b"\n") - 1
    assert log.doubts == ()
    assert log_csv(log, demo).encode() == data


def test_points_in_doubt_are_written_with_their_prefix():
    doubtful = board(
        """
        R1 10k Device:R 1:=R2.1 2:=A/B
        R2 10k Device:R 1:=net:X 2:=C/B
        """
    )
    for typed in ("net:R2.1", "pin:R2.1", "A/B", "net:net:X", "R2.2"):
        point = find_point(doubtful, typed)
        assert find_point(doubtful, point_text(doubtful, point)) == point
    assert point_text(doubtful, find_point(doubtful, "net:R2.1")) == "net:R2.1"


def test_a_log_of_no_rows():
    log = read()
    assert log_csv(log, BOARD) == "when,action,part,mode,plus,minus,value,note\n"
