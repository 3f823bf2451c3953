"""Which steps the log has read: only what still holds, and never what comes again."""

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers._registry import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.checklist.model import COLD, LIMITED
from ohmtrail.netanalysis.checklist.read_steps import read_steps
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.recognise import recognise

HEAD = "action,part,mode,plus,minus,value\n"


def read(*rows, rail="VBUS"):
    circuit = recognise(load(named_board_path("one_buck")), {"VBUS": 12.0})
    checklist = make_checklist(circuit, rail=rail)
    steps = [step for section in checklist.sections for step in section.steps]
    log = read_log(HEAD + "".join(f"{row}\n" for row in rows), circuit.board)
    found = read_steps(circuit.board, steps, log)
    by_number = {step.n: step for step in steps}
    return steps, {n: (by_number[n], event) for n, event in found.items()}


def test_a_rail_is_read_by_its_net_and_once_only():
    steps, found = read("measure,,resistance,VBUS,GND,4k7")
    asked = [
        step
        for step in steps
        if step.mode == "resistance" and (step.plus, step.minus) == ("VBUS", "GND")
    ]
    # The first reading, and again after the repair: the second stays to be read.
    assert len(asked) > 1
    assert list(found) == [asked[0].n]
    assert found[asked[0].n][1].value == 4700.0


def test_a_pad_is_that_pad_and_a_mode_that_mode():
    _, found = read("measure,,resistance,Q1.4,Q1.1,9k9")
    assert [step.title for step, _ in found.values()] == ["Gate to source"]
    assert read("measure,,diode,Q1.4,Q1.1,0.5")[1] == {}
    assert read("measure,,resistance,Q1.1,Q1.4,9k9")[1] == {}


def test_a_reading_from_before_a_change_is_history():
    gate = "measure,,resistance,Q1.4,Q1.1,9k9"
    assert read(gate, "lift,C1,,,,")[1] == {}
    [(_, event)] = read(gate, "lift,C1,,,,", gate)[1].values()
    assert event.line == 4


def test_nothing_under_power_and_nothing_of_a_part_in_the_hand():
    steps, found = read("measure,,voltage,VBUS,GND,12")
    assert [step for step in steps if step.phase == LIMITED]
    assert found == {}
    off = ("lift,Q1,,,,", "measure,Q1,resistance,Q1.4,Q1.1,0.5")
    assert read(*off)[1] == {}


def test_the_last_of_several_counts():
    gate = "measure,,resistance,Q1.4,Q1.1"
    [(step, event)] = read(f"{gate},9k9", f"{gate},9k8")[1].values()
    assert (step.phase, event.value) == (COLD, 9800.0)
