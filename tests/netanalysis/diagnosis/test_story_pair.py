"""Story: two paralleled high sides, one shorted; the pair, its cause, its second death.

What must follow is the trade's practice (common practice, no source; that a weakened
mate takes the new part along is in REFERENCES I, "Paralleled MOSFETs", an inference).
"""

import pytest
from _small_boards import board
from _stories import (
    BOTH_NEW,
    DRIVER_DEAD,
    FOUND,
    HAVE,
    ONE_NEW_DIED,
    PLAIN,
    RAILS,
    STAGES,
)

from ohmtrail.netanalysis.diagnosis.before_power import next_check
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.outlook import outlook
from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log
from ohmtrail.netanalysis.diagnosis.weigh import weigh
from ohmtrail.netanalysis.recognise import recognise

HALF_BRIDGE = """
U1 CTRL - VIN=VIN VCC=DRV GND=GND HG=HG SW=SW BOOT=BST LG=LG FB=FB
Q1 NMOS Device:Q_NMOS D=VIN G=HG S=SW
Q2 NMOS Device:Q_NMOS D=SW G=LG S=GND
L1 1u Device:L 1:=SW 2:=+3V3
C1 100n Device:C 1:=BST 2:=SW
C2 22u Device:C 1:=+3V3 2:=GND
C3 10u Device:C 1:=VIN 2:=GND
U2 CPU - VDD=+3V3 VSS=GND PA0=IO0
"""


@pytest.fixture
def posterior(demo, log_of):
    return lambda rows: weigh_log(case_of(demo, log_of(rows)))


def first(ranking):
    return set(ranking.suspects[0].parts)


def replaced(action):
    return action.action, set(action.parts)


def test_the_short_went_with_q501(posterior):
    found = rank(posterior(FOUND))
    assert first(found) == {"Q501"}
    assert found.suspects[0].fault == "all shorted"
    with_q501 = [one.probability for one in found.suspects if "Q501" in one.parts]
    assert sum(with_q501) > 0.99


def test_the_mate_is_not_cleared_and_both_are_replaced(posterior):
    found = rank(posterior(FOUND))
    assert set(found.replace) == {"Q501", "Q502"}
    assert "Q502" not in {one.ref for one in found.cleared}
    # The other phases are: of a short, and of no more.
    cleared = {one.ref: one.of for one in found.cleared}
    assert {"Q401", "Q601", "C106"} <= set(cleared)
    assert all("short" in of for of in cleared.values())


def test_what_a_low_core_hides_is_not_cleared(posterior):
    """Ohm's law: 5 ohms beside a core of 0.7 ohms are within what it reads by nature.

    That two switches explain all readings says nothing of the parts on the core.
    """
    found = rank(posterior(FOUND))
    cleared = {one.ref for one in found.cleared}
    circuit = posterior(FOUND).case.circuit
    on_core = {
        part.ref
        for part in circuit.board.parts
        for pin in part.pins
        if pin.net == "VCORE_1V0"
    }
    assert {"U701", "C704"} <= on_core
    assert not cleared & on_core


def test_driver_and_gate_resistors_are_inspected(posterior):
    inspect = dict(rank(posterior(FOUND)).inspect)
    assert {"U501", "R511", "Q502"} <= set(inspect)
    # A shorted high side puts the input on the load.
    assert "U701" in inspect


@pytest.mark.parametrize("have", [HAVE, PLAIN], ids=["four-wire", "plain"])
def test_the_set_is_replaced_complete(posterior, have):
    """After what is cheap and still tells something has been read."""
    rows = FOUND
    for _ in range(12):
        action = next_action(posterior(rows), have)
        assert action.action not in ("power", "stop"), action.why
        if action.action == "replace":
            break
        rows += answer(action)
    assert replaced(action) == ("replace", {"Q501", "Q502"})


def answer(action):
    """What the bench shows of phase B with Q501 off and all else good."""
    if action.action == "look":
        return f"look,{action.part},,,,ok,\n"
    assert action.action == "measure", action
    part = action.part or ""
    value = "4k98"
    if part == "Q501":
        value = "11.6" if "4" in {action.plus[-1], action.minus[-1]} else "0.2"
    elif action.plus in ("VMAIN",):
        value = "47k"
    elif action.plus.startswith("R5") and action.minus.startswith("R5"):
        value = "2.3"
    elif action.plus.startswith("V") or "." not in action.plus:
        value = "2k"
    elif action.mode == "four-wire":
        value = "OL"
    elif action.plus[-2:] == ".5" and action.plus[0] == "Q":
        value = "47k"
    return f"measure,{part},{action.mode},{action.plus},{action.minus},{value},\n"


def test_a_new_one_alone_died_both_again(posterior):
    found = rank(posterior(ONE_NEW_DIED))
    assert first(found) & {"Q501", "Q502"}
    inspect = {ref for ref, _ in found.inspect}
    assert {"U501", "R511"} <= inspect
    # What stood on the board at the failure is suspect anew.
    assert not found.cleared or "Q502" not in {one.ref for one in found.cleared}


@pytest.mark.parametrize("have", [HAVE, PLAIN], ids=["four-wire", "plain"])
def test_after_the_second_death_no_power_before_readings(posterior, have):
    action = next_action(posterior(ONE_NEW_DIED), have)
    assert action.action not in ("power", "stop", "fit")


def test_after_the_second_death_the_pair_is_replaced_again(posterior):
    rows = f"""{ONE_NEW_DIED}
    measure,,resistance,VMAIN,GND,0.8,
    measure,,resistance,Q501.5,Q501.1,0.2,
    measure,,resistance,Q401.5,Q401.1,0.3,
    measure,,resistance,Q601.5,Q601.1,0.3,
    measure,,resistance,Q501.4,Q501.1,9.8,
    lift,Q501,,,,,
    measure,,resistance,VMAIN,GND,47k,
    measure,Q501,resistance,Q501.5,Q501.1,0.2,
    """
    found = rank(posterior(rows))
    assert set(found.replace) >= {"Q501", "Q502"}
    inspect = {ref for ref, _ in found.inspect}
    assert {"U501", "R511"} <= inspect


def test_bad_gate_resistor_is_open_then_contradicted(demo, log_of):
    before = weigh(demo, log_of(FOUND), "bad gate resistor", HAVE)
    assert before.verdict == "open"
    assert {before.decider.plus, before.decider.minus} == {"R511.1", "R511.2"}
    read = f"{FOUND}\nmeasure,,resistance,R511.1,R511.2,2.3,"
    log = log_of(read)
    after = weigh(demo, log, "bad gate resistor", HAVE)
    assert after.verdict == "contradicted"
    # The last line of the log, and no other: that very reading.
    assert after.by == (log.events[-1].line,)
    assert "R511.1 to R511.2" in after.meanings[0].because[0]


def test_an_open_gate_resistor_fits_once_read(demo, log_of, posterior):
    read = f"{FOUND}\nmeasure,,resistance,R511.1,R511.2,5k1,"
    assert weigh(demo, log_of(read), "bad gate resistor", HAVE).verdict == "fits"
    assert "R511" in rank(posterior(read)).replace


@pytest.mark.parametrize("have", [HAVE, PLAIN], ids=["four-wire", "plain"])
def test_a_driver_that_stays_low_is_convicted_before_power(posterior, have):
    """With both switches new, U501.5 still reads 3.2 to its switch node."""
    rows = DRIVER_DEAD
    found = rank(posterior(rows))
    assert "U501" in first(found)
    assert "driver output dead" in found.suspects[0].fault
    assert "U501" in found.replace
    for _ in range(8):
        action = next_action(posterior(rows), have)
        assert action.action != "power"
        if action.action == "replace":
            break
        assert action.action in ("measure", "look"), action
        rows += driver_dead(action)
    assert action.action == "replace"
    assert "U501" in action.parts


def driver_dead(action):
    """What the bench shows with new switches and a dead output of the driver."""
    if action.action == "look":
        return f"look,{action.part},,,,ok,\n"
    points = {action.plus, action.minus}
    value = "4k98"
    if all(point.startswith("R51") for point in points):
        value = "2.4"
    elif points & {"Q501.4", "Q502.4"}:
        value = "5.4"
    elif "U501.5" in points:
        value = "3.2"
    return f"measure,,{action.mode},{action.plus},{action.minus},{value},\n"


@pytest.mark.parametrize("have", [HAVE, PLAIN], ids=["four-wire", "plain"])
def test_gates_are_read_before_power(posterior, have):
    """With new switches in place the chain is read again, then comes power."""
    action = next_action(posterior(BOTH_NEW), have)
    assert action.action == "measure"


def test_before_the_lift_nobody_of_a_pair_is_told_apart(posterior):
    """Drain to source cannot tell mates apart; that they are replaced both it can."""
    found = rank(posterior(RAILS + STAGES))
    top = {ref for one in found.suspects[:3] for ref in one.parts}
    assert {"Q501", "Q502"} <= top


#: The main rail is whole; the core's 0.7 may be its nature, or a low side.  Across an
#: open resistor a meter sees the driver's output and, if it is punched, the gate.
OPEN_RESISTOR = f"""
{RAILS.replace("VMAIN,GND,0.9", "VMAIN,GND,47k")}
measure,,resistance,U501.6,GND,4k98,
measure,,resistance,R513.1,R513.2,5k01,
measure,,resistance,R513.1,R513.2,5k01,
"""


def test_an_open_gate_resistor_asks_for_the_gate_that_did_it(posterior):
    """TRADE: a punched gate takes its resistor along; alone it rarely goes open."""
    found = rank(posterior(OPEN_RESISTOR))
    assert set(found.suspects[0].parts) == {"Q503", "R513"}
    assert set(found.replace) == {"Q503", "Q504", "R513"}


def test_a_new_gate_resistor_makes_its_stage_be_read_again(posterior):
    """Behind the open resistor its gate showed nothing but its pull-down."""
    rows = f"""
    {OPEN_RESISTOR}
    measure,,resistance,Q503.4,Q503.1,10k,
    measure,,resistance,Q503.4,Q503.1,10k,
    lift,R513,,,,,
    fit,R513,,,,new,
    """
    view = outlook(posterior(rows))
    action = next_check(view, PLAIN)
    assert action.action == "measure"
    assert action.plus in ("Q501.4", "Q502.4", "Q503.4", "Q504.4")


def test_both_sides_of_a_half_bridge_dead_are_suspected_together(log_of):
    """Shoot-through (common practice): neither alone explains input and output.

    Q1 ties the input to the switch node, Q2 the node to ground.
    """
    behind_beads = (
        f"FB{n} 600R Device:FerriteBead 1:={net} 2:=N{n}\n"
        f"C1{n} 10u Device:C 1:=N{n} 2:=GND\n"
        f"U1{n} CPU - VDD=N{n} VSS=GND PA0=IO{n}\n"
        for n, net in enumerate(3 * ("VIN",) + 3 * ("+3V3",), 1)
    )
    circuit = recognise(board("".join((HALF_BRIDGE, *behind_beads))), {})
    rows = "measure,,resistance,VIN,GND,0.7,\nmeasure,,resistance,+3V3,GND,0.5,"
    found = weigh_log(case_of(circuit, log_of(rows, circuit)))
    assert set(found.weighed[0].hypothesis.refs) == {"Q1", "Q2"}
