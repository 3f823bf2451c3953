"""The checklist reads like the job."""

from dataclasses import replace

import pytest
from _oracles import designs
from _small_boards import board

from ohmtrail.fixtures import named_board_path
from ohmtrail.importers import load
from ohmtrail.netanalysis.checklist import make_checklist
from ohmtrail.netanalysis.graph import view_of
from ohmtrail.netanalysis.memberships import stages_of_part
from ohmtrail.netanalysis.probe_points import find_point
from ohmtrail.netanalysis.recognise import recognise
from ohmtrail.netanalysis.short import find_short

PHASES = ("look", "cold", "limited power", "power")
#: Titles in the order in which drive and current go through a stage.
ALONG = (
    "Driver outputs",
    "Gate resistors",
    "Gate to source",
    "Switches, drain to source",
    "Switch node to ground",
    "Inductor",
    "Output to ground",
)


def circuit_of(name, **stated):
    return recognise(load(named_board_path(name)), stated)


def steps_of(checklist):
    return [step for section in checklist.sections for step in section.steps]


def one(steps, title, ref):
    """Return the only step of a title that is about a part."""
    found = [s for s in steps if s.title.startswith(title) and ref in s.parts]
    assert len(found) == 1, [step.title for step in found]
    return found[0]


def check_laws(circuit, checklist):
    """Check what holds for every checklist of every board."""
    view = view_of(circuit)
    assert checklist.cautions
    assert [step.n for step in steps_of(checklist)] == list(
        range(1, len(steps_of(checklist)) + 1)
    )
    for section in checklist.sections:
        phases = [PHASES.index(step.phase) for step in section.steps]
        assert phases == sorted(phases)
        places = {}
        for step in section.steps:
            for ref in step.parts:
                assert view.fitted(ref)
            if step.mode is None:
                assert step.plus is None
                assert step.minus is None
                assert step.expect is None
                continue
            # Two different places on the board, on two different nets.
            plus = find_point(circuit.board, step.plus)
            minus = find_point(circuit.board, step.minus)
            assert plus.net != minus.net
            assert step.why
            assert step.source
            assert step.if_low or step.if_high
            if step.expect is not None:
                numbers = [
                    value
                    for value in (step.expect.low, step.expect.typical)
                    if isinstance(value, float)
                ]
                assert numbers == sorted(numbers)
                assert step.expect.unit in ("ohms", "volts")
            if step.mode == "voltage":
                assert step.phase in ("limited power", "power")
            if step.stage is not None:
                for rank, title in enumerate(ALONG):
                    if step.title.startswith(title):
                        places.setdefault(step.stage, []).append(rank)
        for ranks in places.values():
            assert ranks == sorted(ranks)


# One stage ----------------------------------------------------------------------


def test_a_buck_is_read_from_driver_to_output():
    circuit = circuit_of("one_buck")
    steps = steps_of(make_checklist(circuit, stage=circuit.stages[0]))
    driver = one(steps, "Driver outputs", "Q1")
    assert (driver.plus, driver.plus_name) == ("U1.5", "HG")
    assert driver.minus == "Q1.1"
    resistor = one(steps, "Gate resistors", "R1")
    assert (resistor.plus, resistor.minus) == ("R1.1", "R1.2")
    # Marked 2R2; 5 % where nothing is marked; the meter errs by 1 % and two counts of
    # 0.1 ohm (common practice, no source).  What lies across it takes off a thousandth.
    low, high = 2.2 * 0.95 * 0.99 - 0.2, 2.2 * 1.05 * 1.01 + 0.2
    assert resistor.expect.low == pytest.approx(low, rel=1e-3)
    assert resistor.expect.high == pytest.approx(high, rel=1e-3)
    assert "assumed" in resistor.source
    gate = one(steps, "Gate to source", "Q1")
    assert (gate.plus, gate.minus) == ("Q1.4", "Q1.1")
    # The 10 k, and the driver's own pull-down of some 100 k (common practice).
    assert gate.expect.typical == pytest.approx(1 / (1 / 10e3 + 1 / 100e3), rel=0.01)
    assert gate.expect.low < 8e3 < gate.expect.high < 10e3 * 1.05 * 1.02
    check_laws(circuit, make_checklist(circuit, stage=circuit.stages[0]))


def test_an_n_channel_body_diode_has_red_on_the_source():
    circuit = circuit_of("one_buck")
    steps = steps_of(make_checklist(circuit, rail="VBUS"))
    step = one(steps, "Body diodes", "Q1")
    assert step.mode == "diode"
    assert (step.plus, step.minus) == ("Q1.1", "Q1.5")
    # 0.35 to 0.7 V, about 0.42 ordinary; the meter errs by 1 % and two counts
    # (common practice, no source).
    assert step.expect.low == pytest.approx(0.35 * 0.99 - 0.002, abs=1e-3)
    assert step.expect.typical == pytest.approx(0.42, abs=1e-3)
    assert step.expect.high == pytest.approx(0.7 * 1.01 + 0.002, abs=1e-3)


def test_a_p_channel_body_diode_has_red_on_the_drain():
    circuit = circuit_of("load_switch")
    switch = next(stage for stage in circuit.stages if stage.kind == "load switch")
    step = one(steps_of(make_checklist(circuit, stage=switch)), "Body diodes", "Q1")
    view = view_of(circuit)
    assert view.sort("Q1") == "p-channel"
    assert view.role("Q1", step.plus.partition(".")[2]) == "drain"
    assert view.role("Q1", step.minus.partition(".")[2]) == "source"


def test_resistors_across_one_another_are_reckoned_with():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+5V 2:=GND
            R1 100R~1% Device:R 1:=+5V 2:=A
            R2 100R~1% Device:R 1:=+5V 2:=A
            R3 1k Device:R 1:=A 2:=GND
            """
        ),
        {},
    )
    (step,) = [s for s in steps_of(make_checklist(circuit, part="R1")) if s.mode]
    # Two of 100 ohms side by side read 50.
    assert step.expect.typical == pytest.approx(50)
    # Both 1 % high, and the meter's 1 % and two counts of 0.1 ohm.
    assert step.expect.high == pytest.approx(50 * 1.01 * 1.01 + 0.2)
    assert "R2" in step.source


def test_a_resistor_across_a_diode_hides_it():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+5V 2:=GND
            D1 BAT54 Device:D_Schottky 1:K=A 2:A=B
            R1 10R Device:R 1:=A 2:=B
            R2 1k Device:R 1:=A 2:=GND
            R3 1k Device:R 1:=B 2:=+5V
            """
        ),
        {},
    )
    (step,) = [s for s in steps_of(make_checklist(circuit, part="D1")) if s.mode]
    assert (step.plus, step.minus) == ("D1.2", "D1.1")
    # 1 mA over 10 ohms.
    assert step.expect.typical == pytest.approx(0.010, abs=1e-5)
    # 5 % assumed, the meter's 1 % and two counts of a millivolt.
    assert step.expect.high == pytest.approx(0.0105 * 1.01 + 0.002, abs=1e-5)
    assert "R1" in step.source


def test_a_pin_survey_knows_what_ties_a_pin_down():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=+5V 2:=GND
            U1 - - 10:VDD=+5V 9:VSS=GND 1:CS=SENSE 2:ISET=SET 3:SDA=SDA
            R1 5m Device:R 1:=SENSE 2:=GND
            R2 100 Device:R 1:=SET 2:=GND
            R3 4k7 Device:R 1:=SDA 2:=+5V
            C1 1u Device:C 1:=+5V 2:=GND
            """
        ),
        {},
    )
    steps = steps_of(make_checklist(circuit, part="U1"))
    survey = {step.minus: step for step in steps if step.mode == "diode"}
    # In the order of the pins, ground once and for all on red.
    assert list(survey) == ["U1.1", "U1.2", "U1.3", "U1.10"]
    assert {step.plus for step in survey.values()} == {"GND"}
    assert survey["U1.1"].expect.high <= 0.01  # a shunt of 5 milliohm
    # 1 mA, 100 ohms
    assert survey["U1.2"].expect.typical == pytest.approx(0.1, abs=1e-3)
    # A clamp diode, 0.3 to 0.7 V (common practice); beyond 4.7 k the rail's load.
    assert 0.3 <= survey["U1.3"].expect.low < survey["U1.3"].expect.high <= 0.8
    # The rail: a load of 50 ohms or more, 1 mA (common practice for logic rails).
    rail = survey["U1.10"].expect
    assert rail.low == pytest.approx(0.050 * 0.99 - 0.002, abs=1e-3)
    assert rail.high < 0.8


# A rail ---------------------------------------------------------------------------


def test_the_rail_comes_first_then_what_can_hold_it_down():
    circuit = circuit_of("three_phase", VMAIN=12.0)
    steps = steps_of(make_checklist(circuit, rail="VMAIN"))
    titles = [step.title for step in steps]
    assert titles[0].startswith("Look, under the microscope, around VMAIN")
    assert titles[1] == "Rail to ground"
    assert steps[1].expect.low == 1e3  # kilo-ohms for an input rail (common practice)
    holder = titles.index("If it reads short: compare at each part's own pads")
    stage = next(i for i, step in enumerate(steps) if step.stage)
    assert 1 < holder < stage
    assert titles[-1].startswith("Full power")


def test_a_section_says_where_the_current_comes_from_and_goes():
    circuit = circuit_of("one_buck")
    (section,) = make_checklist(circuit, rail="+3V3").sections
    assert section.path[0] == "comes from: J1 > VIN > F1 > VBUS > U1 > +3V3"
    (section,) = make_checklist(circuit, rail="VBUS").sections
    assert section.path[1] == "goes on to: U1 > +3V3"


def test_sister_phases_are_read_beside_each_other():
    circuit = circuit_of("three_phase")
    checklist = make_checklist(circuit, rail="VCORE_1V0")
    assert [letter for letter, _ in checklist.letters] == ["A", "B", "C"]
    gates = [s.plus for s in steps_of(checklist) if s.title == "Gate to source"]
    assert gates[:6] == ["Q101.4", "Q201.4", "Q301.4", "Q102.4", "Q202.4", "Q302.4"]


def test_mates_share_their_pull_downs():
    circuit = circuit_of("three_phase")
    steps = steps_of(make_checklist(circuit, rail="VCORE_1V0"))
    gate = one(steps, "Gate to source", "Q101")
    # Each 10 k, joined over both gate resistors of a few ohms: 5 k; and a pull-down
    # of some 100 k in the driver (common practice).
    assert gate.expect.typical == pytest.approx(1 / (1 / 5e3 + 1 / 100e3), rel=0.01)


def test_every_parallel_set_carries_its_rule():
    circuit = circuit_of("three_phase")
    steps = steps_of(make_checklist(circuit, rail="VCORE_1V0"))
    rules = [s for s in steps if s.title.startswith("Parallel switches")]
    assert {s.parts for s in rules} == {
        one.parts for one in circuit.parallel_sets if one.kind == "mosfet"
    }
    for step in rules:
        assert "proves nothing of its mates" in step.why.replace("that ", "")


def test_no_injection_while_a_voltage_is_unknown():
    steps = steps_of(make_checklist(circuit_of("three_phase"), rail="VCORE_1V0"))
    assert not [step for step in steps if step.mode == "drop"]
    (note,) = [step for step in steps if step.title == "No injection yet"]
    assert "VMAIN" in note.why


def test_the_injection_step_names_its_limit():
    circuit = circuit_of("three_phase", VMAIN=12.0)
    (step,) = [
        step
        for step in steps_of(make_checklist(circuit, rail="VMAIN"))
        if step.mode == "drop"
    ]
    assert "never above 1 V" in step.title
    assert "VCORE_1V0" in step.source


def test_nothing_is_read_under_injection_before_its_limit_is_named():
    have = ("resistance", "diode", "drop")
    for stated in ({}, {"VMAIN": 12.0}):
        circuit = circuit_of("three_phase", **stated)
        for rail in ("VMAIN", "VCORE_1V0"):
            steps = steps_of(make_checklist(circuit, rail=rail, have=have))
            drops = [step for step in steps if step.mode == "drop"]
            assert bool(drops) == bool(stated)
            if drops:
                assert "never above 1 V" in drops[0].title
    # A whole board's short sections name no limit, so nothing injects there.
    whole = steps_of(make_checklist(circuit, have=have))
    assert not [step for step in whole if step.mode == "drop"]


def test_a_bench_without_four_wires_is_not_asked_for_them():
    circuit = circuit_of("three_phase", VMAIN=12.0)
    for have in (("resistance", "diode"), ("resistance", "diode", "drop")):
        checklist = make_checklist(circuit, rail="VMAIN", have=have)
        modes = {step.mode for step in steps_of(checklist)} - {None, "voltage"}
        assert modes <= set(have)
        check_laws(circuit, checklist)


def test_nothing_claims_that_a_board_is_safe_to_power():
    circuit = circuit_of("three_phase", VMAIN=12.0)
    checklist = make_checklist(circuit, rail="VMAIN")
    for step in steps_of(checklist):
        for text in (step.title, step.why, step.if_low, step.if_high, step.source):
            assert "safe" not in text.casefold()
    assert any("stays unknown" in caution for caution in checklist.cautions)


def test_with_positions_a_net_becomes_a_pad():
    base = load(named_board_path("one_buck"))
    from ohmtrail.netanalysis.board import make_board

    placed = make_board(
        name=base.name,
        format=base.format,
        version="",
        parts=[
            replace(
                part,
                x_mm=float(i),
                y_mm=0.0,
                side="top",
                pins=tuple(
                    replace(pin, x_mm=float(i), y_mm=float(k), side="top")
                    for k, pin in enumerate(part.pins)
                ),
            )
            for i, part in enumerate(base.parts)
        ],
        net_order=[net.name for net in base.nets],
    )
    circuit = recognise(placed, {})
    for step in steps_of(make_checklist(circuit)):
        assert step.x_mm is not None
        assert step.side == "top"
        if step.plus is not None:
            assert find_point(placed, step.plus).pin is not None
            assert find_point(placed, step.minus).pin is not None


def test_a_net_named_like_a_pad_is_marked_as_a_net():
    circuit = recognise(
        board(
            """
            J1 - Connector:Conn_01x02 1:=C1.1 2:=GND
            C1 1u Device:C 1:=X 2:=GND
            C2 1u Device:C 1:=C1.1 2:=GND
            R1 10k Device:R 1:=X 2:=GND
            """
        ),
        {},
    )
    steps = steps_of(make_checklist(circuit, rail="C1.1"))
    assert "net:C1.1" in {step.plus for step in steps}
    check_laws(circuit, make_checklist(circuit, rail="C1.1"))


# Every board ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["one_buck", "three_phase", "load_switch", "pass_pair"]
)
def test_laws_on_small_boards(name):
    circuit = circuit_of(name)
    check_laws(circuit, make_checklist(circuit))
    for net in circuit.board.net_by_name:
        if net not in circuit.ground:
            check_laws(circuit, make_checklist(circuit, rail=net))
    for ref in circuit.board.part_by_ref:
        check_laws(circuit, make_checklist(circuit, part=ref))


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_laws_on_real_boards(design):
    circuit = recognise(load(design.root), {})
    whole = make_checklist(circuit)
    check_laws(circuit, whole)
    # Every rail has a section, and every stage is in one of them.
    ground = set(circuit.ground)
    rails = {rail.net for rail in circuit.rails} - ground
    assert rails <= {section.rail for section in whole.sections}
    staged = {step.stage for step in steps_of(whole) if step.stage}
    silent = {stage.id for stage in circuit.stages} - staged
    for stage in circuit.stages:
        if stage.id in silent:
            assert not [
                s
                for s in steps_of(make_checklist(circuit, stage=stage))
                if s.stage and s.mode
            ]
    for rail in sorted(rails):
        checklist = make_checklist(circuit, rail=rail)
        check_laws(circuit, checklist)
        if not ground:
            continue
        # Whatever can hold the rail down by itself is named in some step.
        named = {ref for step in steps_of(checklist) for ref in step.parts}
        for suspect in find_short(circuit, rail).parts:
            if suspect.prior > 0 and not suspect.assumes:
                assert suspect.ref in named


@pytest.mark.parametrize("design", designs("kicad6+"))
def test_every_gate_chain_is_read_pin_by_pin(design):
    circuit = recognise(load(design.root), {})
    view = view_of(circuit)
    for stage in circuit.stages:
        steps = steps_of(make_checklist(circuit, stage=stage))
        pads = {pad for step in steps for pad in (step.plus, step.minus)}
        for chain in stage.gate_chains:
            if view.kind(chain.switch) not in ("mosfet", "igbt", "bipolar"):
                continue
            assert chain.gate in pads or not view.pins_with_role(
                chain.switch, "source", "emitter"
            )
            for ref in chain.series:
                if len(view.nets(ref)) == 2:
                    assert any(pad and pad.startswith(f"{ref}.") for pad in pads)
        for ref in stage.high_side:
            assert stage in stages_of_part(circuit, ref)
