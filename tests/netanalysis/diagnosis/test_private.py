"""What is its owner's own stays out of notes, and nothing else does."""

import pytest

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.diagnosis.private import without_private

HEAD = "action,part,mode,plus,minus,value,note,customer,shelf\n"


@pytest.mark.parametrize(
    ("note", "kept"),
    [
        ("burnt near Q1", "burnt near Q1"),
        ("for Petra Muster", "for [left out]"),
        ("PETRA asks; Mustermann does not", "[left out] asks; Mustermann does not"),
        ("call pe", "call pe"),
        ("(petra)", "([left out])"),
        ("12 A", "12 A"),
    ],
)
def test_a_note(note, kept):
    board = load(named_board_path("one_buck"))
    log = read_log(f'{HEAD}lift,Q1,,,,,"{note}",Petra Muster,12\n', board)
    bare = without_private(log)
    assert bare.events[0].note == kept
    assert bare.events[0].extra == ()
    assert bare.extra_columns == ()


def test_a_log_without_such_columns_is_as_it_was():
    board = load(named_board_path("one_buck"))
    log = read_log("action,part,mode,plus,minus,value,note\nlift,Q1,,,,,hm\n", board)
    assert without_private(log) == log
