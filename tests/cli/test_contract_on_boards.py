"""The stable JSON, key by key and type by type, on every board there is.

Everything is asked through the command line's own makers of JSON; nothing here knows
what a board holds, only what an answer may look like.
"""

import json

import pytest
from _oracles import designs

from ohmtrail.cli import _json
from ohmtrail.fixtures import named_board_path, write_demo
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.circuit import KINDS, STAGE_KINDS
from ohmtrail.netanalysis.memberships import parallel_mates, stages_of_part
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.probe_points import find_point
from ohmtrail.netanalysis.query import parts_on_net
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short
from ohmtrail.netanalysis.short_index import ShortIndex

NAMED = ("one_buck", "three_phase", "load_switch", "pass_pair")
FAMILIES = ("kicad6+", "kicad5", "kicad4", "kicad_demo")
PHASES = ["look", "cold", "limited power", "power"]
MODES = ("resistance", "diode", "four-wire", "drop", "voltage")
REF_LISTS = (
    "high_side low_side inductors bootstrap current_sense snubber input_caps "
    "output_caps"
).split()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "board"
    write_demo(folder)
    return next(folder.glob("sk4.kicad_sch"))


class Names:
    """What a board holds, for checking that answers name nothing else."""

    def __init__(self, board):
        self.refs = set(board.part_by_ref)
        self.nets = set(board.net_by_name)
        self.pads = {pin.key for part in board.parts for pin in part.pins}


def check_rails(answer, names):
    for rail in answer["rails"]:
        assert rail["net"] in names.nets
        assert rail["volts"] is None or type(rail["volts"]) is float
        assert rail["source"] is None or rail["source"] in names.refs
        assert set(rail["feeds"]) <= names.nets
        assert set(rail["loads"]) <= names.refs
    nets = [rail["net"] for rail in answer["rails"]]
    assert len(set(nets)) == len(nets)


def check_sets(answer, names):
    placed = []
    for one in answer["sets"]:
        assert one["kind"] in KINDS
        assert len(one["parts"]) > 1
        assert one["gates"] in ("shared", "own resistors", None)
        if one["kind"] not in ("mosfet", "igbt", "bipolar"):
            assert one["gates"] is None
        placed += one["parts"]
    assert set(placed) <= names.refs
    assert len(set(placed)) == len(placed)


def check_stages(answer, names):
    for stage in answer["stages"]:
        assert stage["kind"] in STAGE_KINDS
        assert set(stage["switch_nodes"]) <= names.nets
        for key in ("input", "output", "input_rail", "output_rail"):
            assert stage[key] is None or stage[key] in names.nets
        for key in ("controller", "driver"):
            assert stage[key] is None or stage[key] in names.refs
        for key in REF_LISTS:
            assert set(stage[key]) <= names.refs
        for chain in stage["gate_chains"]:
            assert chain["switch"] in (*stage["high_side"], *stage["low_side"])
            assert chain["gate"] in names.pads
            assert chain["driver_pin"] is None or chain["driver_pin"] in names.pads
            for key in ("series", "turn_off", "pull_down"):
                assert set(chain[key]) <= names.refs
        assert all(isinstance(text, str) for text in stage["missing"])
    ids = [stage["id"] for stage in answer["stages"]]
    assert len(set(ids)) == len(ids)


def number(value):
    return float("inf") if value == "OL" else value


def check_expect(expect):
    if expect is None:
        return
    assert set(expect) == {"low", "typical", "high", "unit"}
    assert expect["unit"] in ("ohms", "volts")
    values = [expect[key] for key in ("low", "typical", "high")]
    assert all(v is None or v == "OL" or type(v) is float for v in values)
    known = [number(v) for v in values if v is not None]
    assert known
    assert known == sorted(known)


def check_steps(answer, board, names, stage_ids):
    numbers = []
    for section in answer["sections"]:
        phases = [step["phase"] for step in section["steps"]]
        assert phases == sorted(phases, key=PHASES.index)
        limit = None
        for step in section["steps"]:
            numbers.append(step["n"])
            assert step["stage"] is None or step["stage"] in stage_ids
            blank = [step[key] is None for key in ("mode", "plus", "minus")]
            assert blank in ([True] * 3, [False] * 3)
            check_expect(step["expect"])
            for key in ("source", "why", "if_low", "if_high"):
                assert isinstance(step[key], str)
            if step["mode"] is None:
                assert step["expect"] is None
                continue
            assert step["mode"] in MODES
            ends = [find_point(board, step[key]) for key in ("plus", "minus")]
            assert ends[0].net is None or ends[0].net != ends[1].net
            if step["mode"] == "drop":
                # Its volts limit stands before it.
                limit = limit or "never above" in step["title"]
                assert limit
            if step["phase"] in ("look", "cold"):
                assert step["mode"] in ("resistance", "diode", "four-wire")
    assert numbers == list(range(1, len(numbers) + 1))


def check_short(answer, names, fitted, on_net):
    parts = answer["parts"]
    refs = [one["ref"] for one in parts]
    assert len(set(refs)) == len(refs)
    assert set(on_net) <= set(refs) <= fitted
    if parts:
        assert sum(one["prior"] for one in parts) == pytest.approx(1)
    priors = [one["prior"] for one in parts]
    assert priors == sorted(priors, reverse=True)
    for one in parts:
        assert one["kind"] in KINDS
        assert one["pins"]
        assert {f"{one['ref']}.{pin}" for pin in one["pins"]} <= names.pads
        assert set(one["via"]) <= names.refs
    for cut in answer["cut_points"]:
        near, far = map(set, cut["separates"])
        assert near
        assert far
        assert not near & far
        assert near | far | {cut["ref"]} >= set(refs)
        assert near | far <= set(refs)


def check_board(board):
    circuit = recognise(board, {})
    names = Names(board)
    index = ShortIndex(circuit)
    summary = _json.summary_json(circuit)
    for key in ("parts", "nets", "pins", "sheets"):
        assert type(summary[key]) is int
    assert set(summary["ground"]) <= names.nets
    listed = [pin for net in _json.nets_json(board)["nets"] for pin in net["pins"]]
    assert len(set(listed)) == len(listed)
    assert set(listed) <= names.pads
    rails = _json.rails_json(circuit)
    check_rails(rails, names)
    check_sets(_json.parallel_json(circuit), names)
    stages = _json.stages_json(circuit, circuit.stages)
    check_stages(stages, names)
    ids = {stage["id"] for stage in stages["stages"]}
    answer = _json.checklist_json(board, make_checklist(circuit))
    sections = [section["rail"] for section in answer["sections"]]
    assert {rail["net"] for rail in rails["rails"]} <= set(sections)
    check_steps(answer, board, names, ids)
    json.dumps([summary, rails, stages, answer], allow_nan=False)
    fitted = {ref for ref in names.refs if index.view.fitted(ref)}
    for rail in rails["rails"]:
        net = rail["net"]
        on_net = [pin.ref for pin in board.net_by_name[net].pins if pin.ref in fitted]
        try:
            found = find_short(circuit, net, index=index)
        except NotOnBoardError:
            assert not circuit.ground or net in circuit.ground
            continue
        check_short(_json.short_json(board, found, None), names, fitted, on_net)
        if net not in circuit.ground:
            one = _json.checklist_json(board, make_checklist(circuit, rail=net))
            check_steps(one, board, names, ids)
        there = _json.net_json(board, parts_on_net(circuit, net))
        for part in (*there["parts"], *there["beyond"]):
            assert part["kind"] in KINDS
            assert part["ref"] in names.refs
        assert all(set(part["via"]) <= names.refs for part in there["beyond"])
    for ref in sorted(names.refs)[:: max(1, len(names.refs) // 25)]:
        stages_in = tuple(stage.id for stage in stages_of_part(circuit, ref))
        mates = parallel_mates(circuit, ref)
        part = _json.part_json(circuit, board.part_by_ref[ref], mates, stages_in)
        assert part["kind"] in KINDS
        assert set(part["stages"]) <= ids
        assert set(part["parallel_with"]) <= names.refs - {ref}
        assert all(
            pin["net"] is None or pin["net"] in names.nets for pin in part["pins"]
        )


@pytest.mark.parametrize("name", NAMED)
def test_named_boards(name):
    check_board(load(named_board_path(name)))


def test_the_demo_board(demo):
    check_board(load(demo))


@pytest.mark.parametrize("design", designs(*FAMILIES))
def test_real_boards(design):
    check_board(load(design.root))


def test_with_a_layout_every_step_has_a_pad_and_a_place(demo, ohmtrail):
    layout = demo.with_suffix(".kicad_pcb")
    ran = ohmtrail("checklist", demo, "--with", layout, "--json")
    assert ran.status == 0
    answer = json.loads(ran.out)
    assert answer["warnings"]
    board = load(demo)
    pads = Names(board).pads
    for section in answer["sections"]:
        for step in section["steps"]:
            if step["mode"] is not None:
                assert {step["plus"], step["minus"]} <= pads
            if step["mode"] is not None or step["parts"]:
                assert type(step["x_mm"]) is type(step["y_mm"]) is float
                assert step["side"] in ("top", "bottom", "both")
