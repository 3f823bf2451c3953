"""When power may be thought of, and what an injection tells.

That a processor's own rail reads low by nature, that a load warms while current goes
through it and that a current limit holds a low rail are common practice (no source).
"""

import math

import pytest
from _small_boards import board
from _stories import BOTH_NEW, DRIVER_DEAD, HAVE

from ohmtrail.netanalysis.diagnosis.before_power import checks, next_check
from ohmtrail.netanalysis.diagnosis.heat_evidence import felt_chance
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.injection_floor import limit_with_floors
from ohmtrail.netanalysis.diagnosis.log_text import read_log
from ohmtrail.netanalysis.diagnosis.next_action import next_action
from ohmtrail.netanalysis.diagnosis.outlook import WRONG_POWER, outlook, wrong_power
from ohmtrail.netanalysis.diagnosis.rank import case_of, rank, weigh_log
from ohmtrail.netanalysis.diagnosis.requirement import needed
from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.verdict import rail_class

#: A healthy board whose core reads 0.6: its owner worries.
WORRIED = """
measure,,resistance,VIN_19V,GND,60k,
measure,,resistance,VMAIN,GND,47k,
measure,,resistance,VCORE_1V0,GND,0.6,
measure,,resistance,+5V,GND,1k9,
measure,,resistance,+3V3,GND,640,
measure,,resistance,+1V8,GND,210,
measure,,resistance,+1V1_MEM,GND,80,
"""


@pytest.fixture
def posterior(demo, log_of):
    return lambda rows: weigh_log(case_of(demo, log_of(rows)))


def test_a_rail_far_below_its_class_is_never_powered(posterior):
    found = posterior(WORRIED.replace("+3V3,GND,640", "+3V3,GND,1.7"))
    assert next_action(found, HAVE).action != "power"
    assert rank(found).healthy < 0.05


def test_a_second_short_after_the_first_is_repaired(posterior):
    """Two faults: the pair of phase B is new, +1V8 still reads 1.7."""
    rows = WORRIED.replace("+1V8,GND,210", "+1V8,GND,1.7")
    rows = f"""
    measure,,resistance,VMAIN,GND,0.9,
    measure,,resistance,Q501.5,Q501.1,0.2,
    measure,,resistance,Q501.4,Q501.1,11.8,
    lift,Q501,,,,,
    measure,Q501,resistance,Q501.5,Q501.1,0.2,off the board
    fit,Q501,,,,new,
    lift,Q502,,,,,
    fit,Q502,,,,new,
    {rows}
    """
    # Once may be a slip of the range; read twice it is not.
    assert next_action(posterior(rows), HAVE).action not in ("power", "stop")
    found = posterior(f"{rows}\nmeasure,,resistance,+1V8,GND,1.8,")
    assert next_action(found, HAVE).action not in ("power", "stop")
    view = rank(found)
    assert view.healthy < 0.05
    assert not {"Q501", "Q502"} & set(view.replace)


def test_a_third_fault_beside_a_punched_gate_and_its_driver(posterior):
    """All of the story is new, and +5V, 50 ohms at the least, still reads 3."""
    rows = f"""
    {DRIVER_DEAD.replace("+5V,GND,1k9", "+5V,GND,3.1")}
    lift,U501,,,,,
    fit,U501,,,,new,
    measure,,resistance,Q501.4,Q501.1,4k98,
    measure,,resistance,U501.5,Q501.1,4k98,
    measure,,resistance,+5V,GND,3.0,
    """
    found = posterior(rows)
    assert next_action(found, HAVE).action not in ("power", "stop")
    assert rank(found).healthy < 0.05


@pytest.mark.parametrize("values", [("1M217", "121k7"), ("121k7", "1M217")])
def test_a_slip_among_open_readings_is_named_too(posterior, values):
    """Above 200 k a meter's reading counts as open; ten times is a slip even so."""
    first, *others = (f"measure,,resistance,VMAIN,GND,{value}," for value in values)
    twice = "\n".join((first, *others))
    assert rank(posterior(first)).contradictions == ()
    assert rank(posterior(f"{twice}\n{others[0]}")).contradictions == (2,)


def test_a_slip_on_a_healthy_rail_is_named_once_it_is_read_again(posterior):
    """6k4 may be a healthy +3V3, and so may 640; not both on one board."""
    slip = WORRIED.replace("+3V3,GND,640", "+3V3,GND,6k4")
    assert rank(posterior(slip)).contradictions == ()
    again = f"{slip}\nmeasure,,resistance,+3V3,GND,640,"
    assert rank(posterior(again)).contradictions == (6, 10)
    third = f"{again}\nmeasure,,resistance,+3V3,GND,641,"
    assert rank(posterior(third)).contradictions == (6,)


def test_two_readings_that_disagree_ask_for_a_third(posterior):
    rows = f"{WORRIED}\nmeasure,,resistance,VCORE_1V0,GND,6.1,"
    found = posterior(rows)
    view, lines = outlook(found), rank(found).contradictions
    assert lines == (4, 10)
    pairs = [(red, black) for red, black, _ in checks(view.case)]
    switches = pairs[: pairs.index(("VCORE_1V0", "GND"))]
    for red, black in switches:
        rows += f"\nmeasure,,resistance,{red.key},{black.key},OL,"
    action = next_check(outlook(posterior(rows)), HAVE, lines)
    assert (action.action, action.plus) == ("measure", "VCORE_1V0")
    assert "disagree" in action.why


def test_a_rail_too_low_to_tell_of_a_dead_switch_asks_for_the_gates(posterior):
    """Half an ohm beside a core of 0.6 is seen by nobody: a punched gate tells."""

    def asked(rows):
        case = outlook(posterior(rows)).case
        return [red.key for red, _, why in checks(case) if "hides" in why]

    low_sides = [f"Q{phase}0{n}.4" for phase in (4, 5, 6) for n in (3, 4)]
    assert asked(WORRIED) == low_sides
    one = f"{WORRIED}measure,,resistance,Q503.4,Q503.1,4k98,"
    assert asked(one) == [key for key in low_sides if key != "Q503.4"]
    # a rail of tens of ohms would show it by itself
    assert not asked(WORRIED.replace("VCORE_1V0,GND,0.6", "VCORE_1V0,GND,25"))


def test_the_low_rail_itself_is_read_before_anything_is_lifted(posterior):
    """Known from across its regulator alone it has no ohms to inject by (practice).

    Nor has what a bead joins to it, when nobody can reach that.
    """
    rows = WORRIED.replace("measure,,resistance,+1V8,GND,210,", "")
    rows = f"""
    {rows.replace("+3V3,GND,640", "+3V3,GND,110")}
    measure,,resistance,U203.1,U203.5,111,
    """
    for _ in range(25):
        action = next_action(posterior(rows), ("resistance", "drop"))
        assert action.action not in ("lift", "replace", "power")
        if (action.plus, action.minus) == ("+1V8", "GND"):
            break
        if action.action == "look":
            rows += f"\nlook,{action.part},,,,ok,"
        else:
            rows += f"\nmeasure,,{action.mode},{action.plus},{action.minus},n/a,"
    assert action.plus == "+1V8"


def test_heat_at_the_load_speaks_for_nobody(posterior):
    """The core's own load warms: that clears its capacitors and convicts nobody."""
    before = rank(posterior(WORRIED))
    warm = f"{WORRIED}\ninject,U701,,VCORE_1V0,GND,0.6V 1A,"
    found = rank(posterior(warm))
    assert found.healthy > before.healthy
    assert not found.replace


def test_heat_at_the_load_leaves_a_lesser_short_beside_it(posterior):
    """Ohm's law: of two side by side the one of fewer ohms takes more watts.

    A core that reads 0.5 ohms by nature outdoes a capacitor of an ohm: the heat of its
    chip cannot clear the capacitor, nor can the same heat felt twice.
    """
    log = WORRIED + "\npower,,,,,limit,"

    def odds(rows):
        found = posterior(rows).weighed
        share = {
            ref: sum(w.probability for w in found if w.hypothesis.refs == (ref,))
            for ref in ("C704", "U701")
        }
        return share["C704"] / share["U701"]

    heat = "\ninject,U701,,VCORE_1V0,GND,0.6V 1.2A,"
    before, once, twice = odds(log), odds(log + heat), odds(log + 2 * heat)
    assert before / 30 < once < before
    assert twice > 0.5 * once


def test_a_core_in_the_hand_tells_no_load_from_a_short(posterior):
    """TRADE: a processor may read a fraction of an ohm by nature.

    One resistance: what it reads in the hand it read on the board, so that lifting it
    says nothing of whether it is its own, and the rest of its rail may read anything.
    """
    lifted = """
    lift,U701,,,,,
    measure,U701,resistance,U701.A1,U701.L1,0.6,off the board
    measure,,resistance,VCORE_1V0,GND,11.5k,
    """

    def odds(rows):
        found = posterior(rows).weighed
        faulty = sum(w.probability for w in found if w.hypothesis.refs == ("U701",))
        healthy = sum(w.probability for w in found if not w.hypothesis.faults)
        return healthy / faulty

    before, after = odds(WORRIED), odds(WORRIED + lifted)
    assert before / 3 < after < 3 * before


def test_heat_at_a_capacitor_convicts_it(posterior):
    warm = f"{WORRIED}\ninject,C704,,VCORE_1V0,GND,0.6V 1A,"
    found = rank(posterior(warm))
    assert found.suspects[0].parts == ("C704",)


def test_too_little_power_to_feel_says_nothing(posterior):
    """REFERENCES: none; 0.02 W on a board is not felt (common practice)."""
    cold = f"{WORRIED}\ninject,,,VCORE_1V0,GND,0.12V 0.2A,"
    before, after = rank(posterior(WORRIED)), rank(posterior(cold))
    assert after.healthy == pytest.approx(before.healthy, rel=1e-6)


def test_more_power_says_more():
    """Common practice: a finger feels half a watt, a camera shows some hundredths."""
    chances = [felt_chance(watts) for watts in (0.0, 0.02, 0.1, 0.2, 0.5, 3.0)]
    assert chances == sorted(chances)
    assert chances[:2] == [0.0, 0.0]
    assert chances[-2] == chances[-1] < 1.0


def test_after_a_power_up_that_failed_power_again_is_no_way_out(posterior):
    """At the limit something holds the supply down, though every rail reads well."""
    rows = WORRIED.replace("VCORE_1V0,GND,0.6", "VCORE_1V0,GND,6")
    failed = posterior(f"{rows}\npower,,,VIN_19V,GND,limit,0.5 A")
    told, acting = outlook(failed), outlook(failed, acting=True)
    assert told.chance[told.ends.index(frozenset())] > 0.0
    assert acting.chance[acting.ends.index(frozenset())] == 0.0
    assert acting.ends[acting.best_end()]
    # What is suspected is told by the readings and the power-up, as ever.
    well = [w for w in failed.weighed if not needed(failed.case, w.hypothesis)]
    chance = sum(w.probability for w in well)
    assert rank(failed).healthy == pytest.approx(chance, abs=1e-4, rel=1e-3)
    assert chance > 0.0
    assert next_action(failed, HAVE).action not in ("power", "stop")


BUCK = """
U1 CTRL - VIN=VIN VCC=DRV GND=GND HG=HG SW=SW BOOT=BST LG=LG FB=FB
Q1 NMOS Device:Q_NMOS D=VIN G=HG S=SW
Q2 NMOS Device:Q_NMOS D=SW G=LG S=GND
L1 1u Device:L 1:=SW 2:=VCORE_1V0
C1 100n Device:C 1:=BST 2:=SW
C2 22u Device:C 1:=VCORE_1V0 2:=GND
C3 10u Device:C 1:=VIN 2:=GND
U2 CPU - VDD=VCORE_1V0 VSS=GND PA0=IO0
"""


def test_a_floor_is_no_nominal_and_never_above_one():
    """Where ``inject`` gives no number for want of VIN, next goes by the floor."""
    circuit = recognise(board(BUCK), {})
    answer = inject(circuit, "VCORE_1V0")
    assert answer.volts_max is None
    assert "VIN" in answer.unknown
    found = limit_with_floors(circuit, answer)
    if found is not None:
        volts, told = found
        assert volts <= 1.0
        assert any("VIN" in text for text in told)


def test_a_new_chip_does_not_explain_a_short_of_its_rail():
    """VIN makes 5 V, so it has more; no chip that lives on it draws through 0.4 ohm."""
    circuit = recognise(board(BUCK.replace("VCORE_1V0", "+5V")), {})
    rows = """when,action,part,mode,plus,minus,value,note
,measure,,resistance,VIN,GND,0.4,
,lift,U1,,,,,
,fit,U1,,,,new,
,measure,,resistance,VIN,GND,0.4,
,measure,,resistance,+5V,GND,900,
"""
    found = weigh_log(case_of(circuit, read_log(rows, circuit.board, "log")))
    assert rank(found).healthy < 0.05
    assert next_action(found, HAVE).action not in ("power", "stop")


@pytest.mark.parametrize(("ohms", "apart"), [("2R2", False), ("10k", True)])
def test_a_driver_behind_a_large_gate_resistor_is_read_by_itself(ohms, apart):
    """A gate and its few ohms tell of the driver; ten kilo-ohms hide a dead one."""
    text = BUCK.replace("HG=HG", "HG=HGD") + f"R1 {ohms} Device:R 1:=HGD 2:=HG\n"
    circuit = recognise(board(text), {})
    rows = (
        "when,action,part,mode,plus,minus,value,note\n,lift,Q1,,,,,\n,fit,Q1,,,,new,\n"
    )
    case = case_of(circuit, read_log(rows, circuit.board, "log"))
    read = {red.key for red, _, _ in checks(case) if not isinstance(red, str)}
    (chain,) = [c for s in circuit.stages for c in s.gate_chains if c.switch == "Q1"]
    assert chain.gate in read
    assert (chain.driver_pin in read) == apart


def test_without_any_floor_there_is_no_limit():
    """An unknown rail that feeds nothing known stays unknown: no injection."""
    text = BUCK.replace("VCORE_1V0", "VOUT")
    circuit = recognise(board(text), {})
    answer = inject(circuit, "VOUT")
    assert answer.volts_max is None
    assert limit_with_floors(circuit, answer) is None


@pytest.mark.parametrize("net", ["VMAIN", "+3V3", "VCORE_1V0"])
def test_with_all_known_the_floor_changes_nothing(demo, net):
    answer = inject(demo, net)
    found = limit_with_floors(demo, answer)
    assert found is not None
    assert math.isclose(found[0], answer.volts_max)
    assert found[1] == ()


def test_a_rail_behind_a_bead_may_take_all_that_its_class_may(demo, log_of):
    """The class holds for what is on a net, however few of the joined rail's pins."""
    rows = "measure,,resistance,+3V3,GND,640,\nmeasure,,resistance,VCORE_1V0,GND,0.6,"
    case = outlook(weigh_log(case_of(demo, log_of(rows)))).case
    volts = {rail.net: rail.volts for rail in demo.rails if rail.volts}
    met = 0
    for path in case.common:
        if path.a in volts and not path.ref:
            assert path.ohms_low <= rail_class(volts[path.a]).low_ohms
            met += 1
    assert met > 3


def test_a_healthy_rail_may_have_its_load_behind_the_bead(log_of):
    """Ohm's law: 50.43 at the load and 30 milliohm of bead are 50.46 before it.

    Two equal loads would read alike on both sides: a fit must not rest there and take
    the readings for a fault's.
    """
    text = BUCK.replace("VCORE_1V0", "+3V3") + (
        "FB1 600R Device:FerriteBead 1:=+3V3 2:=+3V3A\n"
        "C4 10u Device:C 1:=+3V3A 2:=GND\n"
        "U3 CPU - VDD=+3V3A VSS=GND PA0=IO3\n"
    )
    circuit = recognise(board(text), {})
    rows = """
    measure,,resistance,+3V3,GND,50.6,
    measure,,four-wire,C4.1,C4.2,50.43,
    measure,,four-wire,C2.1,C2.2,50.46,
    """
    found = weigh_log(case_of(circuit, log_of(rows, circuit)))
    healthy = next(one for one in found.weighed if not one.hypothesis.faults)
    assert healthy.evidence > max(one.evidence for one in found.weighed) - 3.0
    assert (abs(found.deviation(healthy)) < 1.0).all()


def test_an_input_that_reads_as_its_output_does_asks_for_the_switch_between(posterior):
    """641 is a healthy load of VMAIN, 640 one of +3V3; both at once ask for U202.

    A shorted high side joins a buck's input to its output (practice).
    """

    def chance(ohms):
        rows = BOTH_NEW.replace("VMAIN,GND,47k", f"VMAIN,GND,{ohms}")
        found = posterior(f"{rows}\nmeasure,,resistance,+3V3,GND,640,")
        return sum(w.probability for w in found.weighed if "U202" in w.hypothesis.refs)

    assert chance("641") > 1e4 * chance("600")
    assert chance("641") > 1e4 * chance("47k")


@pytest.mark.parametrize(("ref", "held"), [("Q503", True), ("Q501", False)])
def test_a_leak_to_ground_is_held_by_the_limit_and_one_from_the_input_is_not(
    demo, log_of, ref, held
):
    """Common practice: a leak from 19 V reaches a core, one to ground takes amps."""
    case = case_of(demo, log_of(WORRIED))
    leak = next(one for one in case.faults_of(ref) if one.name == "leaky")
    harm = wrong_power(case, Hypothesis(((leak, 0),)))
    assert (harm < WRONG_POWER) is held
