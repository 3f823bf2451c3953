"""The JSON has the keys that other programs rely on, and no key is ever missing."""

import json

import pytest

STAGE = (
    "id kind switch_nodes input output input_rail output_rail controller driver "
    "high_side low_side inductors bootstrap current_sense snubber input_caps "
    "output_caps gate_chains missing"
).split()
STEP = (
    "n phase stage mode plus minus expect source why if_low if_high x_mm y_mm side"
).split()

#: Command -> keys of the answer, and of the entries of its lists.
KEYS = {
    ("summary", "@one_buck"): (
        "format version parts nets pins sheets ground warnings",
        {},
    ),
    ("nets", "@one_buck"): ("nets", {"nets": "name pins"}),
    ("net", "@one_buck", "VIN"): (
        "net parts beyond",
        {"parts": "ref value kind pins role", "beyond": "ref value kind pins role via"},
    ),
    ("part", "@one_buck", "Q1"): (
        "ref value kind pins parallel_with stages",
        {"pins": "pin name net"},
    ),
    ("rails", "@one_buck"): ("rails", {"rails": "net volts source feeds loads"}),
    ("parallel", "@three_phase"): ("sets", {"sets": "kind parts gates"}),
    ("stages", "@three_phase", "--rail", "VMAIN"): (
        "stages",
        {"stages": " ".join(STAGE)},
    ),
    ("short", "@three_phase", "VCORE_1V0", "--ohms", "0.6"): (
        "net to parts cut_points verdict because measure",
        {"parts": "ref kind role pins via prior", "cut_points": "ref separates"},
    ),
    ("checklist", "@three_phase"): (
        "board sections cautions",
        {"sections": "rail steps"},
    ),
}


@pytest.mark.parametrize("command", KEYS, ids=lambda command: command[0])
def test_keys(ohmtrail, command):
    keys, lists = KEYS[command]
    answer = ohmtrail(*command, "--json").json
    assert set(keys.split()) <= answer.keys()
    assert "warnings" in answer
    for name, wanted in lists.items():
        assert answer[name]
        for entry in answer[name]:
            assert set(wanted.split()) <= entry.keys()


def test_every_net_lists_every_pin_once(ohmtrail):
    answer = ohmtrail("nets", "@one_buck", "--json").json
    pins = [pin for net in answer["nets"] for pin in net["pins"]]
    assert len(set(pins)) == len(pins)
    assert {net["name"] for net in answer["nets"]} >= {"VIN", "VBUS", "SW", "FB"}


def test_a_gate_chain_is_given_pin_by_pin(ohmtrail):
    stage = ohmtrail("stages", "@one_buck", "--json").json["stages"][0]
    assert {
        "switch": "Q1",
        "gate": "Q1.4",
        "driver_pin": "U1.5",
        "series": ["R1"],
        "turn_off": [],
        "pull_down": ["R3"],
    } in stage["gate_chains"]


def test_steps_have_all_keys_and_say_null_only_without_a_reading(ohmtrail):
    answer = ohmtrail("checklist", "@three_phase", "--json").json
    steps = [step for section in answer["sections"] for step in section["steps"]]
    assert steps
    for step in steps:
        assert set(STEP) <= step.keys()
        assert step["phase"] in ("look", "cold", "limited power", "power")
        assert (step["plus"] is None) == (step["minus"] is None)
        assert (step["plus"] is None) == (step["mode"] is None)
        if step["expect"] is not None:
            assert step["expect"].keys() == {"low", "typical", "high", "unit"}


def test_what_is_beyond_names_the_links_passed(ohmtrail):
    answer = ohmtrail("net", "@one_buck", "VIN", "--json").json
    beyond = {part["ref"]: part for part in answer["beyond"]}
    assert beyond["D1"]["via"] == ["F1"]
    assert "D1" not in {part["ref"] for part in answer["parts"]}


def test_a_doubtful_reading_comes_with_the_reading_that_decides(ohmtrail):
    command = ("short", "@three_phase", "VCORE_1V0", "--ohms", "0.6", "--json")
    answer = ohmtrail(*command).json
    assert answer["verdict"] == "cannot tell"
    assert answer["measure"]["action"] == "measure"
    assert answer["measure"]["plus"] != answer["measure"]["minus"]
    assert all(one.keys() == {"if", "then"} for one in answer["measure"]["expected"])
    assert answer["measure"]["expected"]


def test_checklist_json_to_a_file_is_the_same(ohmtrail, tmp_path):
    target = tmp_path / "list.json"
    shown = ohmtrail("checklist", "@one_buck", "--json")
    ran = ohmtrail("checklist", "@one_buck", "--format", "json", "--out", target)
    assert (ran.status, ran.out) == (0, "")
    assert json.loads(target.read_text(encoding="utf-8")) == shown.json


def test_warnings_stand_in_the_json_and_on_stderr(ohmtrail, tmp_path):
    table = tmp_path / "a.csv"
    table.write_text("ref,pin,net\nR1,1,NC\nR1,2,B\nR2,1,NC\n", encoding="utf-8")
    ran = ohmtrail("summary", table, "--json")
    assert ran.status == 0
    warnings = json.loads(ran.out)["warnings"]
    assert warnings
    assert all(w.keys() == {"what", "where", "count"} for w in warnings)
    assert ran.err.startswith("ohmtrail: warning: ")
    assert len(ran.err.splitlines()) == 1
