"""Whatever is typed is a suggestion with parts of the board, or one error line."""

from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.netanalysis.diagnosis.claim_parts import focus_of
from ohmtrail.netanalysis.diagnosis.claims import ClaimError, parse_claim
from ohmtrail.netanalysis.graph import view_of

WORDS = (
    "Q501 Q502 R511 q501 C503-C506 C503 to C506 Q501/502 Q501.4 U501 R832 VMAIN GND "
    "+5V 5V 3.3V both all any the gate gates high low side switch switches resistor "
    "resistors caps capacitor input output driver load mate pair chip big phase 2 B F "
    "second fifth rail of on its and or , shorted open leaky weak drifted bad solder "
    "bridge between pin 4 - / R5O1 %s"
).split()


TEXTS = st.one_of(
    st.lists(st.sampled_from(WORDS), max_size=7).map(" ".join), st.text(max_size=30)
)


def test_a_claim_or_one_line(demo, log_of):
    view = view_of(demo)
    focus = focus_of(demo, view, log_of("lift,Q501,,,,,"))

    @settings(max_examples=300, deadline=None)
    @given(TEXTS)
    def check(text):
        meanings, error = (), ""
        try:
            meanings = parse_claim(text, demo, view, focus)
        except ClaimError as found:
            error = str(found)
        assert bool(meanings) != bool(error)
        assert len(error.splitlines()) <= 1
        for claim in meanings:
            assert claim.items
            for item in claim.items:
                assert item.parts or item.nets
                assert all(view.fitted(ref) for ref in item.parts)
                assert all(ref in demo.board.part_by_ref for ref in item.parts)

    check()


def test_bridges_between_nets_that_are_listed_keep_their_nets(demo):
    """Found by chance words; the nets of either were lost."""
    (claim,) = parse_claim("VMAIN or bridge VMAIN", demo, view_of(demo))
    assert [item.nets for item in claim.items] == [("VMAIN",), ("VMAIN",)]
