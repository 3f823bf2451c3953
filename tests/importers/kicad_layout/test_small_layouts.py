"""Layouts written by hand: turned and flipped footprints, versions, odd cases."""

import contextlib
import gzip
import math
from pathlib import Path

import pytest

from ohmtrail.importers import ImporterError, load
from ohmtrail.importers import _text as text_module

OLD = """\
(kicad_pcb (version 4) (host pcbnew 4.0.7)
  (general (links 2))
  (layers (0 Top signal) (31 Bottom signal) (36 B.SilkS user))
  (net 0 "")
  (net 1 GND)
  (net 2 "Net-(C1-Pad1)")
  (net 3 LEFT_OVER)
  (module Parts:SOT-23 (layer Top) (tedit 0) (tstamp 5)
    (at 100 50 90)
    (path /504F83BE/504F8F01)
    (attr smd)
    (fp_text reference Q1 (at 0 0) (layer F.SilkS) (effects (font (size 1 1))))
    (fp_text value "Pass FET" (at 0 0) (layer F.Fab))
    (fp_line (start 0 0) (end 1 1) (layer F.SilkS) (width 0.15))
    (pad 1 smd rect (at 2 1 90) (size 1 1) (layers Top F.Paste F.Mask)
      (net 2 "Net-(C1-Pad1)"))
    (pad 2 smd rect (at -2 0 90) (size 1 1) (layers Top F.Paste F.Mask) (net 1 GND))
    (pad 2 smd rect (at -3 0 90) (size 1 1) (layers Top F.Paste F.Mask) (net 1 GND))
    (pad 3 thru_hole circle (at 0 0) (size 1 1) (drill 0.6) (layers *.Cu *.Mask))
    (pad "" np_thru_hole circle (at 5 0) (size 1 1) (drill 1) (layers *.Cu))
  )
  (module Parts:C_0603 (layer Bottom) (at 10 20 30)
    (fp_text reference C1 (at 0 0) (layer B.SilkS))
    (fp_text value 100n (at 0 0) (layer B.Fab))
    (pad 1 smd rect (at 2 0 30) (size 1 1) (layers Bottom B.Mask)
      (net 2 "Net-(C1-Pad1)"))
    (pad 2 smd rect (at -2 0 30) (size 1 1) (layers Bottom B.Mask) (net 1 GND))
  )
  (segment (start 1 1) (end 2 2) (width 0.2) (layer Top) (net 1))
)
"""

NEW = """\
(kicad_pcb
\t(version 20251028)
\t(generator "pcbnew")
\t(generator_version "10.0")
\t(layers (0 "F.Cu" signal) (2 "B.Cu" signal "Solder side"))
\t(footprint "Package_SO:SOIC-8"
\t\t(layer "B.Cu")
\t\t(uuid "1")
\t\t(at 30 40 180)
\t\t(property "Reference" "U1" (at 0 0 0) (layer "B.SilkS"))
\t\t(property "Value" "Driver (dual)" (at 0 0 0) (layer "B.Fab"))
\t\t(property "MPN" "GD-220" (at 0 0 0) (layer "B.Fab"))
\t\t(property "Datasheet" "~" (at 0 0 0) (layer "B.Fab"))
\t\t(property "Description" "Gate driver" (at 0 0 0) (layer "B.Fab"))
\t\t(path "/aaaa/bbbb")
\t\t(sheetname "/Core/Phase A/")
\t\t(sheetfile "phase.kicad_sch")
\t\t(attr smd dnp)
\t\t(pad "1" smd rect (at -2.5 1.5 180) (size 1 1) (layers "B.Cu" "B.Mask")
\t\t\t(net "/Core/Phase A/LO") (pinfunction "LO") (pintype "output+no_connect"))
\t\t(pad "2" smd rect (at 2.5 1.5 180) (size 1 1) (layers "B.Cu" "B.Mask")
\t\t\t(net "GND") (pinfunction "~") (pintype "power_in"))
\t\t(pad "" smd rect (at 0 0 180) (size 1 1) (layers "B.Paste"))
\t)
)
"""


def footprint(ref, *pads, at="0 0", more=""):
    """A footprint of version 6 with pads given as (number, net)."""
    text = " ".join(
        f'(pad "{number}" smd rect (at {n} 0) (size 1 1) (layers "F.Cu")'
        + (f' (net {1 + n} "{net}")' if net else "")
        + ")"
        for n, (number, net) in enumerate(pads)
    )
    return (
        f'(footprint "X:Y" (layer "F.Cu") (at {at}) {more}'
        f'(fp_text reference "{ref}" (at 0 0) (layer "F.SilkS")) {text})'
    )


def layout(*footprints, version=20211014):
    return f"(kicad_pcb (version {version}) (generator pcbnew)\n" + "\n".join(
        [*footprints, ")"]
    )


@pytest.fixture
def write(tmp_path):
    def write(text, name="board.kicad_pcb"):
        path: Path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def at(thing):
    return round(thing.x_mm, 4), round(thing.y_mm, 4), thing.side


def nets(board):
    return {n.name: [p.key for p in n.pins] for n in board.nets}


def noted(board):
    return [(u.what, u.where, u.count) for u in board.unused]


def test_kicad_4(write):
    board = load(write(OLD))
    assert (board.name, board.format, board.version) == ("board", "kicad_layout", "4")
    assert nets(board) == {
        "GND": ["Q1.2", "C1.2"],
        "Net-(C1-Pad1)": ["Q1.1", "C1.1"],
    }
    q1 = board.part_by_ref["Q1"]
    assert (q1.value, q1.footprint, q1.sheet) == ("Pass FET", "Parts:SOT-23", "/")
    assert q1.fitted
    assert q1.pin("3").net is None
    assert noted(board) == [
        ("pad without a number", "", 1),
        ("net without pads", "board.kicad_pcb", 1),
        ("track, via or zone: nets are those of the pads", "board.kicad_pcb", 1),
    ]


def test_settings_of_vias_and_zones_are_no_copper(write):
    # KiCad documentation, board format: (zone_connect n) of a pad and (via_min_size n)
    # of the setup only begin like (zone ...) and (via ...).
    text = OLD.replace("(drill", "(zone_connect 2) (zone_layer_connections) (drill")
    assert text != OLD
    assert noted(load(write(text))) == noted(load(write(OLD)))


def test_a_turn_is_to_the_left_with_y_down(write):
    """KiCad documentation, board format: angles in degrees, y grows downwards."""
    q1 = load(write(OLD)).part_by_ref["Q1"]
    assert at(q1) == (100, 50, "top")
    # A quarter turn to the left takes what lay right up, and what lay below right.
    assert at(q1.pin("1")) == (101, 48, "top")
    # Of two pads with one number the first counts.
    assert at(q1.pin("2")) == (100, 52, "top")
    assert at(q1.pin("3")) == (100, 50, "both")


def test_the_offsets_of_a_flipped_footprint_are_as_seen_from_above(write):
    c1 = load(write(OLD)).part_by_ref["C1"]
    assert at(c1) == (10, 20, "bottom")
    dx = 2 * math.cos(math.radians(30))
    assert at(c1.pin("1")) == (round(10 + dx, 4), 19, "bottom")
    assert at(c1.pin("2")) == (round(10 - dx, 4), 21, "bottom")


def test_kicad_10_names_nets_without_numbers(write):
    board = load(write(NEW))
    assert nets(board) == {"/Core/Phase A/LO": ["U1.1"], "GND": ["U1.2"]}
    u1 = board.part_by_ref["U1"]
    assert (u1.value, u1.description) == ("Driver (dual)", "Gate driver")
    assert u1.fields == (("MPN", "GD-220"),)
    assert not u1.fitted
    assert u1.sheet == "/Core/Phase A/"
    assert board.sheets == ("/", "/Core/Phase A/")
    assert [(p.name, p.electrical) for p in u1.pins] == [
        ("LO", "output"),
        ("", "power_in"),
    ]
    assert at(u1.pin("1")) == (32.5, 38.5, "bottom")


def test_sheet_names_of_kicad_6_are_put_together(write):
    def on(path, name):
        return f'(property "Sheetname" "{name}") (path "{path}") '

    board = load(
        write(
            layout(
                footprint("R1", ("1", "A"), more=on("/root-part", "")),
                footprint("R2", ("1", "A"), more=on("/s1/p", "Core")),
                footprint("R3", ("1", "A"), more=on("/s1/s2/p", "Phase A")),
                footprint("R4", ("1", "A"), more=on("/s9/s3/p", "Phase B")),
            )
        )
    )
    assert [part.sheet for part in board.parts] == [
        "/",
        "/Core/",
        "/Core/Phase A/",
        "/Phase B/",  # no part tells what the sheet between is called
    ]


def test_one_reference_twice_without_contradiction_is_one_part(write):
    board = load(
        write(
            layout(
                footprint("J1", ("1", "A"), ("2", "B")),
                footprint("J1", ("3", "C"), ("2", "B"), at="9 9"),
            )
        )
    )
    assert nets(board) == {"A": ["J1.1"], "B": ["J1.2"], "C": ["J1.3"]}
    assert noted(board) == [
        ("footprint named like another, taken for one part", "J1", 1)
    ]


def test_one_reference_twice_on_other_nets_loses_no_connection(write):
    board = load(
        write(
            layout(
                *(footprint("R1", ("1", net), ("2", "GND")) for net in "ABAB"),
            )
        )
    )
    assert nets(board) == {
        "A": ["R1.1"],
        "GND": ["R1.2", "R1#2.2"],
        "B": ["R1#2.1"],
    }
    assert noted(board) == [
        ("footprint named R1 like another, called R1#2 here", "R1", 2),
        ("footprint named like another, taken for one part", "R1", 1),
    ]


def test_a_drawing_of_the_same_name_gives_no_position(write):
    board = load(write(layout(footprint("U3"), footprint("U3", ("1", "A"), at="7 8"))))
    assert at(board.part_by_ref["U3"]) == (7, 8, "top")


def test_a_pad_number_on_two_nets_is_reported(write):
    board = load(write(layout(footprint("R1", ("1", "A"), ("1", "B"), ("2", "B")))))
    assert nets(board) == {"A": ["R1.1"], "B": ["R1.2"]}
    assert noted(board) == [("pad on net B, another of its number is on A", "R1.1", 1)]


def test_logos_are_counted_and_copper_without_a_number_named(write):
    board = load(
        write(
            layout(
                footprint("G***"), footprint(""), footprint("H1", ("", "GND")),
                footprint("REF**", ("1", "GND")),
            )
        )
    )  # fmt: skip
    assert nets(board) == {"GND": ["REF**.1"]}
    assert noted(board) == [
        ("footprint without reference and pins", "X:Y", 2),
        ("pad without a number on net GND", "H1", 1),
    ]


def test_gzip_is_undone_whatever_the_suffix(write):
    board = load(write(gzip.compress(OLD.encode()), "main.kicad_pcb.gz"))
    assert board.name == "main"
    assert len(board.parts) == 2
    assert len(load(write(gzip.compress(OLD.encode()))).parts) == 2


def test_gzip_that_grows_too_large_is_refused(write, monkeypatch):
    monkeypatch.setattr(text_module, "MAX_BYTES", 1024 * 1024)
    path = write(gzip.compress(OLD.encode() + b" " * 5_000_000))
    with pytest.raises(ImporterError) as caught:
        load(path)
    assert str(caught.value) == f"{path}: found more than 1 MB, expected less"


def test_a_word_glued_to_a_bracket_is_mended(write):
    """A fault that KiCad 8 and 9 write into teardrops, and read without complaint."""
    pad = (
        '(pad "1" smd rect (at 0 0) (layers "F.Cu") (net 1 "A)b c") (teardrops\n'
        "(curved_edges no)filter_ratio 0.9)\n(enabled yes)))"
    )
    text = layout(footprint("R1").removesuffix(")") + pad + ")")
    board = load(write(text))
    assert nets(board) == {"A)b c": ["R1.1"]}
    assert noted(board) == [
        (
            "missing '(' behind a ')', read as if it were there",
            "board.kicad_pcb:3",
            1,
        )
    ]


PAD, VERSION, WIDTH = "(at 2 1 90)", "(version 4)", "(width 0.2)"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (PAD, "(at 2 one 90)", "15: found 'one' in (at ...), expected a number"),
        (PAD, "(at 2)", "15: found nothing in (at ...), expected a number"),
        (PAD, "(at nan 1)", "15: found 'nan' in (at ...), expected a number"),
        (PAD, "", "15: found pad '1', expected (at X Y) in it"),
        (
            "(at 10 20 30)",
            "",
            "22: found module 'Parts:C_0603', expected (at X Y) in it",
        ),
        (VERSION, "", "1: found no (version ...), expected one in (kicad_pcb ...)"),
        (VERSION, "(version x)", "1: found 'x' in (version ...), expected a number"),
        (
            WIDTH,
            "(width 0.2",
            "30: found end of file, expected ')' for the '(' of line 1",
        ),
        (WIDTH, "(width 0.2))", "30: found ')', expected end of file"),
        (WIDTH, '(width "0.2)', "29: found end of file inside a string, expected '\"'"),
    ],
)
def test_bad_layouts_are_refused_in_one_line(write, old, new, message):
    assert old in OLD
    path = write(OLD.replace(old, new, 1))
    with pytest.raises(ImporterError) as caught:
        load(path)
    assert str(caught.value) == f"{path}:{message}"


def test_damage_anywhere_gives_a_board_or_one_line(write):
    """Whatever one character is lost: no traceback, no message of two lines."""
    refused = 0
    for text in (OLD, NEW):
        for lost in range(12, len(text), 2):
            with contextlib.suppress(ImporterError):
                load(write(text[:lost] + text[lost + 1 :]), "kicad_layout")
                continue
            refused += 1
    assert refused > 100


@pytest.mark.parametrize("text", [OLD, NEW])
def test_a_file_cut_short_is_refused(write, text):
    for end in range(12, len(text) - 2, 3):
        path = write(text[:end])
        with pytest.raises(ImporterError) as caught:
            load(path, "kicad_layout")
        assert "\n" not in str(caught.value)
        assert str(caught.value).startswith(f"{path}:")
