"""A shared case gives back the same board, and a hostile one a single line."""

import dataclasses
import gzip
import json

import pytest
from _shared_cases import LOG, body, packed

from ohmtrail.fixtures import named_board_path, named_boards
from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers._registry import load, recognise
from ohmtrail.importers.shared_case._case import UNPACKED_MAX, SharedCase
from ohmtrail.importers.shared_case._read import is_case, read_case
from ohmtrail.importers.shared_case._write import case_bytes
from ohmtrail.netanalysis.board import Board, Net, Part, Pin, Unused


def written(tmp_path, data, name="x.ohmcase"):
    path = tmp_path / name
    path.write_bytes(data)
    return path


def refused(tmp_path, data):
    """Read bad input; return the one line that it must end in."""
    path = written(tmp_path, data)
    with pytest.raises(ImporterError) as error:
        load(path, "shared_case")
    line = str(error.value)
    assert line.isprintable()
    assert line.startswith(str(path))
    return line


@pytest.mark.parametrize("name", named_boards())
def test_a_board_comes_back_as_it_was(tmp_path, name):
    board = load(named_board_path(name))
    data = case_bytes(SharedCase(board, LOG, "log.csv", "why?"))
    path = written(tmp_path, data)
    back = load(path)
    assert recognise(path).name == "shared_case"
    assert (back.parts, back.nets) == (board.parts, board.nets)
    assert (back.sheets, back.unused) == (board.sheets, board.unused)
    again = case_bytes(dataclasses.replace(read_case(path), board=back))
    assert again == data


def test_every_field_of_a_board_is_carried(tmp_path):
    """Whoever adds a field to the board model must carry it here as well."""
    pin = Pin("U1", "A1", "V", "VIN", "power_in", 1.5, -2.25, "both", (0.3, 0.4))
    part = Part(
        ref="U1",
        value="v",
        pins=(pin,),
        library="l",
        footprint="f",
        description="d",
        keywords="k",
        sheet="/a/",
        fitted=False,
        fields=(("Voltage", "30 V"), ("Voltage", "twice")),
        stated_kind="chip",
        x_mm=3.0,
        y_mm=4.0,
        side="bottom",
    )
    board = Board(
        name="b",
        format="kicad_schematic",
        version="9",
        parts=(part,),
        nets=(Net("V", (pin,), ("W",)), Net("alone", ())),
        sheets=("/", "/a/"),
        unused=(Unused("what", "where", 3),),
        outline_mm=(((0.0, 0.0), (1.0, 0.5)),),
        stated_volts=(("V", 1.8),),
    )
    for value in (pin, part, board):
        for field in dataclasses.fields(value):
            default = field.default
            same = getattr(value, field.name) == default
            assert field.name.endswith(("_by_ref", "_by_name")) or not same, field.name
    path = written(tmp_path, case_bytes(SharedCase(board, LOG, "log.csv", "?")))
    back = load(path)
    assert back == dataclasses.replace(
        board, format="shared_case", version="1 of kicad_schematic 9"
    )


def test_a_case_that_is_not_packed_opens_too(tmp_path):
    path = written(tmp_path, packed(body(), pack=bytes))
    case = read_case(path)
    assert (case.question, case.log, case.log_name) == ("C1?", LOG, "log.csv")
    assert case.board.stated_volts == (("VIN", 12.0),)
    assert case.board.part_by_ref["C1"].pin("1").land_mm == (0.5, 0.4)
    assert recognise(path).name == "shared_case"
    assert is_case(path.read_bytes())


def test_a_zip_bomb_is_never_unpacked(tmp_path):
    import tracemalloc

    data = packed(b" " * (UNPACKED_MAX * 10), digest="0" * 64)
    assert len(data) < 1_000_000
    tracemalloc.start()
    line = refused(tmp_path, data)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "more than 16 MB once unpacked" in line
    assert most < 3 * UNPACKED_MAX


def test_a_bomb_within_json_is_refused(tmp_path):
    assert "JSON" in refused(tmp_path, packed(b'{"a":' + b"[" * 200_000))
    assert "JSON" in refused(tmp_path, packed(b"[" + b"9" * 5000 + b"]"))


def test_damage(tmp_path):
    whole = packed(body())
    assert "gzip" in refused(tmp_path, whole[:-9])
    assert "gzip" in refused(tmp_path, whole[:40] + b"\xff\xff" + whole[42:])
    assert "more data behind" in refused(tmp_path, whole + b"x")
    assert "damaged or changed" in refused(tmp_path, packed(body(), digest="0" * 64))
    assert "damaged" in refused(tmp_path, packed(body(), size=7))
    changed = gzip.decompress(whole).replace(b"10u", b"11u")
    assert "hash" in refused(tmp_path, gzip.compress(changed))
    assert "no hash" in refused(tmp_path, b"ohmtrail shared case 1\n{}")
    assert "no first line" in refused(tmp_path, b"ohmtrail shared case one two\n{}")
    assert "no first line" in refused(tmp_path, b"something else\n")


def test_a_future_version_says_so(tmp_path):
    line = refused(tmp_path, packed(b'{"who": "knows"}', version="2"))
    assert "found version 2 of a shared case, expected 1: a newer ohmtrail" in line
    # Its first line may go on otherwise too.
    assert "version 7" in refused(tmp_path, b"ohmtrail shared case 7\n\0\1")


PATHS = ["../../etc/passwd", "/etc/passwd", "a\\b", "C:x", "..", "", "a\nb", "a\0b"]


@pytest.mark.parametrize("name", PATHS, ids=repr)
@pytest.mark.parametrize("key", ["board__name", "log_name"])
def test_a_path_in_a_name(tmp_path, name, key):
    line = refused(tmp_path, packed(body(**{key: name})))
    assert "a name without folders" in line


PIN = [["1", 0]]
FAR = {"ref": "R1", "value": "", "pins": [], "at_mm": [1e300, 0]}
BAD = {
    "a list": (b"[]", "expected an object"),
    "no board": ({"log": ""}, "expected"),
    "nothing": (b"{}", "expected"),
    "not a number": (b'{"board": NaN}', "NaN"),
    "key twice": (b'{"log": "", "log": ""}', "twice"),
    "unknown key": (body(more=1), "the key 'more'"),
    "unknown key of the board": (body(board__more=1), "the key 'more'"),
    "question no text": (body(question=3), "a number as question"),
    "question long": (body(question="x" * 5000), "4000 at most"),
    "log no text": (body(log=None), "nothing as log"),
    "nets no list": (body(board__nets={}), "an object as nets"),
    "net without a name": (body(board__nets=[[]]), "a net"),
    "net twice": (body(board__nets=[["A"], ["A"]]), "twice"),
    "parts no objects": (body(board__parts=[3]), "a number in a part"),
    "pin of no net": (
        body(board__parts=[{"ref": "R1", "value": "", "pins": [["1", 9]]}]),
        "net 9 of R1",
    ),
    "pin of net true": (
        body(board__parts=[{"ref": "R1", "value": "", "pins": [["1", True]]}]),
        "no number as the net",
    ),
    "pin twice": (
        body(board__parts=[{"ref": "R1", "value": "", "pins": PIN + PIN}]),
        "pin R1.1 occurs twice",
    ),
    "part twice": (
        body(board__parts=[{"ref": "R1", "value": "", "pins": []}] * 2),
        "part R1 occurs twice",
    ),
    "kind of its own": (
        body(board__parts=[{"ref": "R1", "value": "", "pins": [], "kind": "bomb"}]),
        "'bomb' as kind",
    ),
    "far away": (body(board__parts=[FAR]), "1e+09 at most"),
    "volts of no net": (body(board__nominal=[["NIX", 3]]), "volts of no net"),
    "outline of texts": (body(board__outline_mm=[["ab"]]), "a text as a point"),
    "long name": (body(board__nets=[["x" * 9999]]), "2000 at most"),
}


@pytest.mark.parametrize("name", BAD)
def test_contents_that_are_not_as_they_should_be(tmp_path, name):
    told, words = BAD[name]
    assert words in refused(tmp_path, packed(told))


def outcome(path):
    """The board's name, or the error line; anything else is a bug."""
    try:
        return read_case(path).board.name
    except ImporterError as error:
        return str(error)


def test_any_key_replaced_by_rubbish_is_one_line_or_a_board(tmp_path):
    """Whatever stands in whichever place, there is no traceback."""
    rubbish = [None, True, -1, 1e400, "x" * 10, [], {}, [[]], [None], {"a": 1}]

    def places(value, way=()):
        yield way
        if isinstance(value, dict | list):
            keys = value if isinstance(value, dict) else range(len(value))
            for key in keys:
                yield from places(value[key], (*way, key))

    for way in list(places(body())):
        for thing in rubbish:
            told = body()
            if way:
                where = told
                for key in way[:-1]:
                    where = where[key]
                where[way[-1]] = thing
            else:
                told = thing
            path = written(tmp_path, packed(json.dumps(told).encode(), pack=bytes))
            assert outcome(path).isprintable()


def test_what_is_too_large_is_not_written():
    board = load(named_board_path("one_buck"))
    with pytest.raises(ImporterError, match="question"):
        case_bytes(SharedCase(board, LOG, "log.csv", "x" * 5000))
