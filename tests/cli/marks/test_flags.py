"""What stands at a pad."""

from ohmtrail.cli.marks.flags import flag_lines
from ohmtrail.cli.marks.plan import MINUS, PLUS, ProbeMark
from ohmtrail.cli.marks.sheet_uses import use_names


def probe(number, role=PLUS, expect="9.9 to 10.1 Ω", mode="resistance"):
    return ProbeMark(number, role, "R1", "1", "VIN", expect, mode)


def test_steps_that_expect_the_same_share_a_line():
    some = [probe(3), probe(8), probe(9, expect="0.4 to 0.6 V", mode="diode")]
    assert flag_lines(("", one) for one in some) == (
        "3+ 8+ 9.9 to 10.1 Ω",
        "9+ diode 0.4 to 0.6 V",
    )


def test_the_black_lead_has_numbers_alone():
    some = [probe(3, MINUS), probe(4), probe(7, MINUS)]
    assert flag_lines(("", one) for one in some) == ("4+ 9.9 to 10.1 Ω", "3- 7-")


def test_nothing_is_left_out_without_a_word():
    black = [("", probe(number, MINUS)) for number in range(1, 21)]
    assert flag_lines(black) == ("1- 2- 3- 4- 5- 6- 7- 8- and 12 more",)
    red = [("", probe(number, expect=f"{number} Ω")) for number in range(1, 10)]
    assert flag_lines(red)[-1] == "5+ 5 Ω; and 4 more"


def test_uses_of_a_sheet_are_named():
    some = [("A", probe(3)), ("B", probe(8))]
    assert flag_lines(some) == ("A:3+ B:8+ 9.9 to 10.1 Ω",)


def test_names_of_uses_are_short_and_differ():
    assert use_names(["/"]) == ("",)
    assert use_names(["/Core/Phase A/", "/Core/Phase B/"]) == ("A", "B")
    assert use_names(["/left channel/", "/right channel/"]) == ("a", "b")
    assert use_names(["/one/x/", "/two/x/"]) == ("a", "b")
    many = use_names([f"/channel number {n}, long name/" for n in range(30)])
    assert len(set(many)) == 30
