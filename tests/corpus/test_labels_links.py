"""Ground and low-resistance links of the labelled boards.

Labels: ``dc_links`` conduct, ``dc_links_uncertain`` may, ``dc_links_dnp`` would if
they were fitted.  A link that the recogniser calls uncertain counts as found when
the labels want it, and as no error when they do not.
"""

import pytest
from _labels import labelled, show

LABELLED = labelled()


def links(one):
    sure = {link.ref for link in one.circuit.links if link.always}
    maybe = {link.ref for link in one.circuit.links} - sure
    return sure, maybe


@pytest.mark.parametrize("one", LABELLED)
def test_ground_nets(one):
    wanted = set(one.labels["ground"])
    near = set(one.labels.get("ground_near_zero", ()))
    found = set(one.circuit.ground)
    show(f"{one.name}: ground {sorted(found)}")
    assert wanted <= found
    assert found <= wanted | near


@pytest.mark.parametrize("one", LABELLED)
def test_every_labelled_link_is_found(one):
    wanted = set(one.labels["dc_links"])
    if one.nameless:
        wanted &= {part.ref for part in one.board.parts}
    sure, maybe = links(one)
    show(
        f"{one.name}: {len(wanted & sure)} of {len(wanted)} links certain, "
        f"{len(wanted & maybe)} uncertain"
    )
    assert not wanted - sure - maybe


@pytest.mark.parametrize("one", LABELLED)
def test_no_certain_link_that_the_labels_lack(one):
    labels = one.labels
    allowed = {*labels["dc_links"], *labels.get("dc_links_uncertain", ())}
    sure, _ = links(one)
    show(f"{one.name}: {len(sure - allowed)} certain links beyond the labels")
    assert not sure - allowed


@pytest.mark.parametrize("one", LABELLED)
def test_links_not_fitted_conduct_nothing(one):
    absent = set(one.labels.get("dc_links_dnp", ()))
    assert not absent & {link.ref for link in one.circuit.links}


@pytest.mark.parametrize("one", LABELLED)
def test_every_link_is_between_pins_of_its_part(one):
    for link in one.circuit.links:
        part = one.board.part_by_ref[link.ref]
        assert part.pin(link.pin_a).net == link.net_a
        assert part.pin(link.pin_b).net == link.net_b
        assert link.net_a != link.net_b
        assert link.because
