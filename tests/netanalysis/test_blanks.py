"""A stage traced by eye must give the same help as a whole schematic.

Each blank of `ohmtrail table` is already its stage: read unfilled, exactly that
stage is recognised, once a phase, with all that the blank draws of it.
"""

import pytest

from ohmtrail.importers import load
from ohmtrail.importers.pin_table.blank import blank_table
from ohmtrail.netanalysis.recognise import recognise

KINDS = (
    "synchronous buck",
    "buck",
    "boost",
    "synchronous boost",
    "buck-boost",
    "half bridge",
    "full bridge leg",
    "flyback",
    "integrated buck",
    "integrated boost",
    "integrated buck-boost",
    "load switch",
    "back-to-back pass",
    "linear regulator",
)


def stages(tmp_path, kind, phases=1):
    path = tmp_path / "blank.csv"
    path.write_text(blank_table(kind, phases), encoding="utf-8")
    return recognise(load(path)).stages


@pytest.mark.parametrize("phases", [1, 2, 4])
@pytest.mark.parametrize("kind", KINDS)
def test_a_blank_is_its_stage_and_nothing_else(tmp_path, kind, phases):
    legs = 2 if kind == "full bridge leg" else 1
    found = stages(tmp_path, kind, phases)
    assert [s.kind for s in found] == [kind] * phases * legs
    assert all(s.missing == () for s in found)


@pytest.mark.parametrize("phases", [1, 3])
def test_a_traced_synchronous_buck_has_all_of_it(tmp_path, phases):
    found = stages(tmp_path, "synchronous buck", phases)
    assert len(found) == phases
    for n, stage in enumerate(found, 1):
        p = n if phases > 1 else ""

        def ref(letter, number, p=p):
            return f"{letter}{p}{number:02}" if p else f"{letter}{number}"

        assert stage.switch_nodes == (f"SW{p}",)
        assert (stage.input, stage.input_rail) == ("VIN", "VIN")
        assert (stage.output, stage.output_rail) == (f"VL{p}", "VOUT")
        assert stage.driver == ref("U", 2)
        assert stage.controller == "U1"
        assert stage.high_side == (ref("Q", 1),)
        assert stage.low_side == (ref("Q", 2),)
        assert stage.inductors == (ref("L", 1),)
        assert stage.bootstrap == (ref("C", 1),)
        assert stage.current_sense == (ref("R", 6),)
        assert set(stage.snubber) == {ref("R", 5), ref("C", 3)}
        high, low = stage.gate_chains
        assert (high.gate, high.driver_pin) == (ref("Q", 1) + ".4", ref("U", 2) + ".7")
        assert (high.series, high.pull_down) == ((ref("R", 1),), (ref("R", 3),))
        assert (low.gate, low.driver_pin) == (ref("Q", 2) + ".4", ref("U", 2) + ".4")
        assert (low.series, low.pull_down) == ((ref("R", 2),), (ref("R", 4),))


def test_a_traced_back_to_back_pair(tmp_path):
    (stage,) = stages(tmp_path, "back-to-back pass")
    assert {stage.input, stage.output} == {"VIN", "VOUT"}
    assert set(stage.high_side) | set(stage.low_side) == {"Q1", "Q2"}
    assert {chain.gate for chain in stage.gate_chains} == {"Q1.4", "Q2.4"}
    assert {chain.driver_pin for chain in stage.gate_chains} == {"U2.3"}
