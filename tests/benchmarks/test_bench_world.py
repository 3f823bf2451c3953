"""The rules of the bench: what time it costs, what power does, what is counted."""

import csv
import itertools

import pytest
from bench import boards
from bench.faults import break_side, short_switch
from bench.routine import Routine
from bench.technician import play
from bench.truth import Health
from bench.world import BenchError, World


def _bench(seed=1000, four_wire=True):
    """A bench whose board is whole: the fault that was drawn is taken back."""
    world = World(boards.board(seed), seed, four_wire)
    for ref in world.truth.health:
        world.truth.health[ref] = Health()
    world.case.wrong_reading = None
    return world


def _core_side(world):
    return next(s for s in world.board.stages if s.rail == world.board.core).sides[0]


def _first(world, kind):
    return next(ref for ref, part in world.board.parts.items() if part.kind == kind)


def test_the_same_seed_makes_the_same_bench():
    one, other = (World(boards.board(1001), 1001) for _ in range(2))
    assert one.board == other.board
    assert one.case == other.case
    rail = f"net:{one.board.core}"
    assert one.measure("resistance", rail, "GND") == other.measure(
        "resistance", rail, "GND"
    )


def test_the_clock_adds_up():
    # prices of the bench: 10 s a reading or a look, 120 s two pins, 600 s a switch,
    # 3,600 s a chip, half for fitting, 120 s power; common practice, no source
    world = _bench()
    world.measure("resistance", f"net:{world.board.core}", "GND")
    world.look("C1")
    assert world.seconds == 20
    for kind, price in (("capacitor", 120), ("mosfet", 600), ("chip", 3600)):
        before, ref = world.seconds, _first(world, kind)
        world.lift(ref)
        assert world.seconds - before == price
        world.fit(ref)
        assert world.seconds - before == 1.5 * price
    before = world.seconds
    assert world.power() == "runs"
    assert world.seconds - before == 120


def test_replacing_what_is_off_costs_half_and_healthy_parts_are_needless():
    world = _bench()
    world.lift("C1")
    before = world.seconds
    world.replace(["C1", "C2"])
    assert world.seconds - before == 60 + 120
    assert world.needless == ["C1", "C2"]


def test_no_start_with_a_part_off():
    world = _bench()
    world.lift("C1")
    assert world.power() == "dead"


def test_a_shorted_rail_holds_the_supply_at_its_limit():
    world = _bench()
    ref = next(r for r, p in world.board.parts.items()
               if p.kind == "capacitor" and p.on(world.board.core))  # fmt: skip
    world.truth.health[ref].paths.append(("1", "2", 1.0, "short"))
    assert world.power() == "limit"
    world.replace([ref])
    assert world.needless == []
    assert world.power() == "runs"


def test_a_low_load_is_no_short():
    world = next(w for w in map(World, *zip(*((boards.board(s), s) for s in
                 range(1000, 1040)), strict=True)) if w.case.healthy)  # fmt: skip
    assert world.truth.load_ohms[world.board.core] <= 1.0
    assert world.power() == "runs"


@pytest.mark.parametrize("cause", ["weak mate", "dead driver", "open resistor"])
def test_what_is_left_in_place_kills_that_side_again(cause):
    for seed in range(1000, 1040):
        world = _bench(seed)
        side = _core_side(world)
        if cause != "open resistor" or side.resistors:
            break
    health = world.truth.health
    if cause == "weak mate":
        health[side.switches[-1]].weak = True
    elif cause == "dead driver":
        path = (side.output, side.back, 10.0, "driver output dead")
        health[side.driver].paths.append(path)
    else:
        health[next(iter(side.resistors.values()))].open = True
    assert world.power() == "died"
    assert all(health[ref].paths for ref in side.switches)
    assert world.power() == "limit"


def test_three_power_ups_and_no_more():
    world = _bench()
    for _ in range(3):
        world.power()
    with pytest.raises(BenchError, match="no power-up is left"):
        world.power()


def test_injecting_above_the_lowest_rail_reached_kills_the_load():
    # through a shorted high-side switch the main rail reaches the core
    world = _bench()
    side, main = _core_side(world), world.board.main
    short_switch(world.truth, side.switches[0], world._rng)
    world.inject(f"net:{main}", "GND", world.board.rails[world.board.core], 0.5)
    assert not any(h.dead for h in world.truth.health.values())
    world.inject(f"net:{main}", "GND", 5.0, 0.5)
    assert any(h.dead for h in world.truth.health.values())
    world.replace(side.switches)
    assert world.power() == "dead"


def test_a_part_in_the_hand_is_the_part_alone():
    world = _bench()
    side = _core_side(world)
    break_side(world.truth, side, world._rng)
    ref = side.switches[0]
    drain, source = (world.board.parts[ref].named(n) for n in "DS")
    with pytest.raises(BenchError, match="not in the hand"):
        world.measure("resistance", f"{ref}.{drain}", f"{ref}.{source}", ref)
    world.lift(ref)
    seen = world.measure("resistance", f"{ref}.{drain}", f"{ref}.{source}", ref)
    assert seen == pytest.approx(world.truth.health[ref].paths[0][2], abs=0.35)


def test_one_reading_is_wrong_by_ten_and_the_world_knows_its_line(tmp_path):
    world = _bench()
    world.case.wrong_reading, world.case.wrong_factor = 2, 10.0
    pair = ("resistance", "net:+5V", "GND")
    right, wrong, again = (world.measure(*pair) for _ in range(3))
    assert wrong == pytest.approx(10 * right, rel=0.05)
    assert again == pytest.approx(right, rel=0.05)
    world.save(tmp_path / "log.csv")
    lines = (tmp_path / "log.csv").read_text().splitlines()
    assert lines[0] == "when,action,part,mode,plus,minus,value,note"
    assert world.wrong_line == 3
    assert next(csv.DictReader(lines))["mode"] == "resistance"


def test_without_a_four_wire_meter_nothing_reads_four_wire():
    world = _bench(four_wire=False)
    assert world.measure("four-wire", "C1.1", "C1.2") == "n/a"


def test_the_technician_does_what_he_is_told_and_stops():
    world = _bench()
    told = iter([
        {"action": "measure", "mode": "resistance", "plus": "C1.1", "minus": "C1.2"},
        {"action": "lift", "part": "C1"},
        {"action": "replace", "parts": ["C1"]},
        {"action": "power", "volts_max": 12.0, "amps_start": 0.5},
        {"action": "stop", "why": "it runs"},
    ])  # fmt: skip
    assert play(world, lambda file, rows: next(told)) == "stop: it runs"
    actions = [row["action"] for row in world.log]
    assert actions == ["measure", "lift", "fit", "power"]


def test_the_routine_repairs_a_single_shorted_switch():
    world = _bench()
    side = _core_side(world)
    short_switch(world.truth, side.switches[0], world._rng)
    Routine(world).play()
    assert world.power_ups[-1] == "runs"
    assert side.switches[0] in world.replaced


def test_boards_are_of_all_sizes_and_every_rail_has_capacitors():
    sizes = []
    for seed in itertools.chain(range(1000, 1012)):
        board = boards.board(seed)
        sizes.append(len(board.parts))
        for rail in board.rails.keys() - {"/DCJACK"}:
            assert any(
                p.kind == "capacitor" and p.on(rail) for p in board.parts.values()
            )
    assert min(sizes) < 150
    assert max(sizes) > 400
