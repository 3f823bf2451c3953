"""The demo board's stages, as they were drawn.

Expected values: the drawing itself, part by part (see the sheets in
``fixtures/demo``); there is no other source, the board is invented.
"""

import pytest

from ohmtrail.fixtures import write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.recognise import recognise


@pytest.fixture(scope="module")
def circuit(tmp_path_factory):
    return recognise(load(write_demo(tmp_path_factory.mktemp("demo"))[0]))


@pytest.fixture(scope="module")
def stages(circuit):
    return {stage.id.rpartition(" at ")[2]: stage for stage in circuit.stages}


DRAWN = {
    "VMAIN": ("back-to-back pass", "U101", ["Q101", "Q102"], []),
    "/Supplies/SW_5V": ("integrated buck", "U201", [], []),
    "/Supplies/SW_3V3": ("integrated buck", "U202", [], []),
    "/Supplies/SW_MEM": ("integrated buck", "U204", [], []),
    "+1V8": ("linear regulator", "U203", [], []),
    "+3V0_ANA": ("linear regulator", "U205", [], []),
    "/Raised supplies/SW_48V": ("boost", "U901", ["D901"], ["Q901"]),
    "/Raised supplies/SW_BL": ("integrated boost", "U902", ["D902"], []),
    "/Ports/FAN_SW": ("load switch", "U703", ["Q801"], []),
    "/Ports/GPS_SW": ("load switch", "U703", ["Q803"], []),
    "+3V3_LCD": ("load switch", "U801", [], []),
    "+5V_AUX": ("load switch", "U803", [], []),
    "/Core/Phase A/SW": (
        "synchronous buck",
        "U301",
        ["Q401", "Q402"],
        ["Q403", "Q404"],
    ),
    "/Core/Phase B/SW": (
        "synchronous buck",
        "U301",
        ["Q501", "Q502"],
        ["Q503", "Q504"],
    ),
    "/Core/Phase C/SW": (
        "synchronous buck",
        "U301",
        ["Q601", "Q602"],
        ["Q603", "Q604"],
    ),
}


def test_every_stage_is_found_and_nothing_else(stages):
    found = {
        place: (
            stage.kind,
            stage.controller,
            sorted(stage.high_side),
            sorted(stage.low_side),
        )
        for place, stage in stages.items()
    }
    assert found == DRAWN


@pytest.mark.parametrize(("phase", "n"), [("A", 4), ("B", 5), ("C", 6)])
def test_a_phase_is_followed_from_driver_to_gate(stages, phase, n):
    stage = stages[f"/Core/Phase {phase}/SW"]
    assert stage.driver == f"U{n}01"
    assert stage.inductors == (f"L{n}01",)
    assert set(stage.bootstrap) >= {f"C{n}02", f"R{n}02"}
    assert set(stage.snubber) == {f"R{n}03", f"C{n}07"}
    # The winding itself measures the current: R and C across it.
    assert set(stage.current_sense) == {f"R{n}04", f"C{n}08"}
    chains = {chain.switch: chain for chain in stage.gate_chains}
    for place, pin in (("1", 5), ("2", 5), ("3", 6), ("4", 6)):
        chain = chains[f"Q{n}0{place}"]
        assert chain.gate == f"Q{n}0{place}.4"
        assert chain.driver_pin == f"U{n}01.{pin}"
        assert chain.series == (f"R{n}1{place}",)
        assert chain.turn_off == ()
        assert chain.pull_down == (f"R{n}2{place}",)


def test_both_switches_of_a_side_are_a_set_with_own_gate_resistors(circuit):
    sets = {one.parts: one.gates for one in circuit.parallel_sets if one.gates}
    assert sets == {
        (f"Q{n}0{a}", f"Q{n}0{b}"): "own resistors"
        for n in (4, 5, 6)
        for a, b in ((1, 2), (3, 4))
    }
