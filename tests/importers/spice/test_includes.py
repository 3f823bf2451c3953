"""Files that a deck includes: beside it, and never outside its folder."""

import os

import pytest

from ohmtrail.importers import ImporterError, load
from ohmtrail.importers._trace import traced


def values(board):
    return {part.ref: part.value for part in board.parts}


def test_files_beside_the_deck_are_read(tmp_path):
    (tmp_path / "models").mkdir()
    (tmp_path / "models" / "a.inc").write_text('R2 b 0 2\n.include "b.inc"\n')
    (tmp_path / "models" / "b.inc").write_text("R3 b 0 3\n")
    deck = tmp_path / "deck.cir"
    deck.write_text("t\nR1 a 0 1\n.include models/a.inc\n.inc 'no such.inc'\n")
    with traced() as files:
        board = load(deck)
    assert list(values(board)) == ["R1", "R2", "R3"]
    assert [(u.what, u.where) for u in board.unused] == [
        ("included file that is not there: 'no such.inc'", "deck.cir:4")
    ]
    # A cache must know all files on which the board depends, missing ones too.
    names = {os.path.basename(name): digest for name, digest in files.items()}
    assert {n for n, digest in names.items() if digest} == {
        "deck.cir",
        "a.inc",
        "b.inc",
    }
    assert names["no such.inc"] is None


def test_sections_of_a_library(tmp_path):
    (tmp_path / "x.lib").write_text(
        ".lib TT\nR1 a 0 1\n.lib x.lib common\n.endl TT\n.lib FF\nR2 a 0 1\n.endl\n"
        ".lib common\nR3 a 0 1\n.endl\n"
    )
    deck = tmp_path / "deck.cir"
    deck.write_text('t\n.lib "x.lib" tt\nR4 a 0 1\n')
    assert set(values(load(deck))) == {"R1", "R3", "R4"}
    deck.write_text("t\n.lib x.lib sf\n")
    with pytest.raises(ImporterError, match=r"deck.cir:2: found no section sf"):
        load(deck)


@pytest.mark.parametrize(
    "name",
    [
        *("../out.inc", "sub/../../out.inc", "/etc/passwd", "~/x", "C:\\x.inc"),
        *("..\\out.inc", "file:///etc/passwd", "link.inc", "folder/out.inc"),
    ],
)
def test_includes_never_leave_the_folder(name, tmp_path):
    (tmp_path / "out.inc").write_text("R2 a 0 1\n")
    home = tmp_path / "home"
    (home / "sub").mkdir(parents=True)
    (home / "link.inc").symlink_to(tmp_path / "out.inc")
    (home / "folder").symlink_to(tmp_path)
    deck = home / "deck.cir"
    deck.write_text(f"t\nR1 a 0 1\n.include {name}\n")
    with pytest.raises(ImporterError) as caught:
        load(deck)
    assert str(caught.value).startswith(f"{deck}:3: found a")
    assert "expected a file beside the deck" in str(caught.value)


def test_includes_in_a_circle_are_refused(tmp_path):
    deck = tmp_path / "deck.cir"
    deck.write_text("t\nR1 a 0 1\n.include a.inc\n")
    (tmp_path / "a.inc").write_text("* x\n.include b.inc\n")
    (tmp_path / "b.inc").write_text(".include a.inc\n")
    with pytest.raises(ImporterError, match=r"b.inc:1: found a.inc included by itself"):
        load(deck)


def test_a_pipe_beside_the_deck_does_not_hang(tmp_path):
    os.mkfifo(tmp_path / "pipe.inc")
    deck = tmp_path / "deck.cir"
    deck.write_text("t\nR1 a 0 1\n.include pipe.inc\n")
    assert load(deck).unused[0].what.startswith("included file that is not there")


def test_a_file_included_again_and_again_ends(tmp_path):
    (tmp_path / "a.inc").write_text("* much\n" * 20_000)
    path = tmp_path / "deck.cir"
    path.write_text("t\nR1 a 0 1\n" + ".include a.inc\n" * 5000)
    with pytest.raises(ImporterError, match="files or 64 MB included"):
        load(path)
