"""A core that is low by nature hides a lesser short: with its load off it shows.

Ohm: of two resistances side by side the greater takes the lesser part of the current,
so the load gets warm and the short does not; alone it takes all (common practice: lift
the load, inject again).
"""

from dataclasses import replace

import numpy as np
import pytest

from ohmtrail.netanalysis.diagnosis.candidates import readings_worth
from ohmtrail.netanalysis.diagnosis.heat_evidence import (
    Fitted,
    felt_chance,
    heat_evidence,
    injections,
)
from ohmtrail.netanalysis.diagnosis.heat_ways import Fed, sole_loads
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.injecting import (
    heat_likelihood,
    lift_load_to_inject,
    where_to_inject,
)
from ohmtrail.netanalysis.diagnosis.lifts import lifts_worth
from ohmtrail.netanalysis.diagnosis.outlook import outlook
from ohmtrail.netanalysis.diagnosis.rank import case_of, weigh_log

LOADED = """
measure,,resistance,VMAIN,GND,30k,
measure,,resistance,VCORE_1V0,GND,0.7,
inject,U701,,VCORE_1V0,GND,1.0V 1.4A,
power,,,VMAIN,GND,limit,
"""
OFF = f"{LOADED}lift,U701,,,,,\nmeasure,,resistance,VCORE_1V0,GND,3.2,\n"
#: A healthy board explains the readings as well.
AS_WELL = Fitted(0.0)


@pytest.fixture
def told(demo, log_of):
    """How well a short of a capacitor explains what got hot."""

    def of(ref, rows):
        case = case_of(demo, log_of(rows))
        fault = next(f for f in case.faults if (f.ref, f.name) == (ref, "short"))
        return heat_evidence(injections(case), Hypothesis(((fault, 0),), 0.0), AS_WELL)

    return of


def test_what_gets_hot_with_the_load_off_is_the_short(told):
    hot = f"{OFF}inject,C704,,VCORE_1V0,GND,1.0V 0.3A,\n"
    # Both injections fit together: first the load, then the short.
    assert told("C704", hot) > told("C705", hot) + 3
    assert told("C704", hot) > told("C704", LOADED) - 0.7


def test_a_second_injection_that_warms_nothing_speaks_against_it(told):
    cold = f"{OFF}inject,,,VCORE_1V0,GND,1.0V 0.9A,\n"
    assert told("C704", cold) < told("C704", LOADED) - 0.5


def test_what_was_cold_beside_the_load_is_asked_again_without_it(told):
    first = LOADED.replace("inject,U701", "inject,")
    twice = f"{first}inject,,,VCORE_1V0,GND,1.0V 1.4A,\n"
    assert told("C704", twice) == pytest.approx(told("C704", first))  # no news
    off = f"{first}lift,U701,,,,,\ninject,,,VCORE_1V0,GND,1.0V 0.9A,\n"
    assert told("C704", off) < told("C704", first) - 0.5


def test_a_rail_is_without_load_once_all_that_loads_it_most_is_off(demo, log_of):
    case = case_of(demo, log_of(""))
    core = case.main_loads("VCORE_1V0")
    assert core == ("U701",)
    assert not Fed(case, "VCORE_1V0", off=frozenset()).unloaded
    assert Fed(case, "VCORE_1V0", off=frozenset(core)).unloaded
    several = sole_loads(case, ("VMAIN",))
    assert len(several) > 1
    assert not Fed(case, "VMAIN", off=frozenset(sorted(several)[:1])).unloaded
    assert Fed(case, "VMAIN", off=several).unloaded


def test_a_chip_among_many_is_not_the_load_of_its_rail(demo, log_of):
    case = case_of(demo, log_of(""))
    (main,) = case.main_loads("+5V")
    others = next(r for r in demo.rails if r.net == "+5V").loads
    assert len(others) > 1
    assert not sole_loads(case, ("+5V",))
    assert not Fed(case, "+5V", off=frozenset((main,))).unloaded


def test_the_load_may_be_lifted_to_inject_again(demo, log_of):
    low = LOADED.replace("GND,0.7", "GND,0.12").replace("1.0V 1.4A", "0.24V 2A")
    view = outlook(weigh_log(case_of(demo, log_of(low))), acting=True)
    again = where_to_inject(view, None)
    assert again is not None
    assert again.again  # what was felt once tells no more
    ((lift, place),) = lift_load_to_inject(view, lifts_worth(view, ("U701",)))
    assert lift.ref == "U701"
    assert place.volts_max <= 1.0  # no more than the rail has
    assert not place.again
    assert heat_likelihood(view, place).sum(1) == pytest.approx(1.0, abs=0.02)


def test_without_the_load_heat_names_the_short_or_the_rail_reads_high(demo, log_of):
    low = LOADED.replace("GND,0.7", "GND,0.12").replace("1.0V 1.4A", "0.24V 2A")
    view = outlook(weigh_log(case_of(demo, log_of(low))), acting=True)
    # As if a healthy board explained all of it as well.
    view = replace(view, gap=np.zeros_like(view.gap))
    ((_, place),) = lift_load_to_inject(view, lifts_worth(view, ("U701",)))
    likely = heat_likelihood(view, place)
    fed = Fed(view.case, place.net, off=place.off)
    seen = set()
    for one, row in zip(view.hypotheses, likely, strict=True):
        left = [fault for fault, _ in one.faults if fault.ref not in place.off]
        sinks = fed.ways(left).sinks
        seen.add(bool(sinks))
        if not sinks:
            assert row[-1] > 0.9  # no heat, and the rail is high: the load it was
        elif len({fault.ref for fault in sinks}) == 1:
            assert row[-1] == 0.0
            assert row[:-2].max() > 0.9 * felt_chance(place.watts)
    assert seen == {True, False}


def test_with_the_load_off_it_is_another_injection(demo, log_of):
    view = outlook(weigh_log(case_of(demo, log_of(OFF))), acting=True)
    place = where_to_inject(view, None)
    assert place is not None
    assert not place.again
    assert place.ohms == pytest.approx(3.2)  # as it was read with the load off


@pytest.mark.parametrize(
    ("ref", "net"), [("C234", "Net-(U202-VCC)"), ("U401", "/Core/Phase A/BOOT")]
)
def test_what_is_no_rail_is_read_once_power_has_failed(demo, log_of, ref, net):
    """Nobody knows what a bootstrap node reads when healthy; a short there shows."""

    def asked(rows):
        found = readings_worth(case_of(demo, log_of(rows)), (ref,), ("resistance",))
        return [
            one
            for one in found
            if {one.reading.plus.net, one.reading.minus.net} == {net, "GND"}
        ]

    assert not asked("")
    assert asked("power,,,VMAIN,GND,limit,")


@pytest.mark.parametrize(("ohms", "more"), [(11.4, False), (0.8, True)])
def test_a_milliohm_meter_is_used_where_it_can_see_copper(demo, log_of, ohms, more):
    """Four digits of 11.4 ohms are 10 milliohms each; copper is less (arithmetic)."""
    rows = f"measure,,resistance,VCORE_1V0,GND,{ohms},\n"
    found = readings_worth(case_of(demo, log_of(rows)), ("C704",), ("four-wire",))
    core = [one for one in found if one.reading.plus.net == "VCORE_1V0"]
    assert bool(core) is more


@pytest.mark.parametrize(
    ("ohms", "more"),
    [
        (("1.006",) * 8, False),
        (("1.006",) * 7, True),
        ((*("1.006",) * 7, "1.009"), True),
        (("0.7060",) * 8, True),  # the last digit counts a tenth of a milliohm
    ],
)
def test_milliohms_that_are_all_alike_are_not_read_on_and_on(demo, log_of, ohms, more):
    """From 1 ohm on four digits count milliohms (arithmetic): eight alike, no more."""
    refs = [f"C{number}" for number in (315, 316, 317, 318, 319, 320, 321, 322)]
    rows = "".join(
        f"measure,,four-wire,{ref}.1,{ref}.2,{value},\nlift,{ref},,,,,\n"
        for ref, value in zip(refs, ohms, strict=False)
    )
    found = readings_worth(case_of(demo, log_of(rows)), ("C704",), ("four-wire",))
    core = [one for one in found if one.reading.plus.net == "VCORE_1V0"]
    assert bool(core) is more
