"""Random boards: no limit is above the lowest rail that a fault can reach.

Which rails a part joins is written down where the part is drawn, and the reach is
worked out from that alone, so that our recognisers have no say in what is right.
That any of these parts may be shorted is the rule of the trade: links, discrete
switches, switches inside chips, body diodes, and from a rail to what is made from it.
"""

import random
from dataclasses import dataclass, field

import pytest
from _small_boards import board

from ohmtrail.netanalysis.inject import inject
from ohmtrail.netanalysis.recognise import recognise

BOARDS = 25
NOMINALS = (0.8, 0.9, 1.0, 1.1, 1.2, 1.5, 1.8, 2.5, 3.3, 5.0, 9.0, 12.0, 19.0, 24.0)


@dataclass
class Drawn:
    """A board as it is drawn, and what was meant by it."""

    dice: random.Random
    lines: list[str] = field(default_factory=list)
    #: Rail -> true nominal volts.
    volts: dict[str, float] = field(default_factory=dict)
    #: What one fault, or none, joins, and the part without which it does not.
    joined: list[tuple[str, str, str]] = field(default_factory=list)
    stated: dict[str, float] = field(default_factory=dict)
    count: int = 0

    def number(self) -> int:
        self.count += 1
        return self.count

    def part(self, letters: str, rest: str) -> str:
        ref = f"{letters}{self.number()}"
        self.lines.append(f"{ref} {rest}")
        return ref

    def rail(self, volts: float, name: str = "") -> str:
        """Draw a rail that lives: named by its volts, stated, or untold."""
        n = self.number()
        told = self.dice.random()
        if not name and told < 0.75:
            name = f"+{volts:.1f}".replace(".", "V") + f"_R{n}"
        elif not name:
            name = f"SUPPLY_{'ABCDEFGHJK'[n % 10]}{n}"
            if told < 0.9:
                self.stated[name] = volts
        self.volts[name] = volts
        self.part("C", f"10u Device:C 1:={name} 2:=GND")
        self.part("U", f"LOGIC - VDD={name} VSS=GND A=S{n}A Y=S{n}Y")
        return name

    def pick(self) -> str:
        return self.dice.choice(list(self.volts))

    def join(self, a: str, b: str, by: str = "") -> None:
        self.joined.append((a, b, by))

    def lower(self, than: float) -> float:
        below = [volts for volts in NOMINALS if volts < than]
        return self.dice.choice(below) if below else than


def discrete_buck(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.lower(drawn.volts[top]))
    n = drawn.number()
    drawn.part("Q", f"NFET Device:Q_NMOS_GDS G=HG{n} D={top} S=SW{n}")
    drawn.part("Q", f"NFET Device:Q_NMOS_GDS G=LG{n} D=SW{n} S=GND")
    coil = drawn.part("L", f"1u Device:L 1:=SW{n} 2:={out}")
    drawn.part(
        "U",
        f"DRIVER - VCC={drawn.pick()} GND=GND HO=HG{n} LO=LG{n} HS=SW{n} HB=BT{n} "
        f"PWM=PWM{n}",
    )
    drawn.part("C", f"100n Device:C 1:=BT{n} 2:=SW{n}")
    drawn.join(top, out, coil)


def integrated_buck(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.lower(drawn.volts[top]))
    n = drawn.number()
    drawn.part("U", f"BUCK - VIN={top} GND=GND SW=SW{n} FB=FB{n} EN={top} BOOT=BT{n}")
    drawn.part("C", f"100n Device:C 1:=BT{n} 2:=SW{n}")
    coil = drawn.part("L", f"4u7 Device:L 1:=SW{n} 2:={out}")
    drawn.part("R", f"47k Device:R 1:={out} 2:=FB{n}")
    drawn.part("R", f"10k Device:R 1:=FB{n} 2:=GND")
    drawn.join(top, out, coil)


def linear(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.lower(drawn.volts[top]))
    chip = drawn.part("U", f"LDO - IN={top} GND=GND OUT={out} EN={top}")
    drawn.join(top, out, chip)


def boost(drawn: Drawn) -> None:
    low = drawn.pick()
    out = drawn.rail(drawn.volts[low] + drawn.dice.choice((1.0, 5.0, 20.0)))
    n = drawn.number()
    coil = drawn.part("L", f"10u Device:L 1:={low} 2:=SW{n}")
    drawn.part("D", f"SCHOTTKY Device:D_Schottky 2:A=SW{n} 1:K={out}")
    drawn.part("U", f"BOOST - VIN={low} GND=GND SW=SW{n} FB=FB{n} EN={low}")
    drawn.part("R", f"100k Device:R 1:={out} 2:=FB{n}")
    drawn.part("R", f"10k Device:R 1:=FB{n} 2:=GND")
    drawn.join(low, out, coil)


def load_switch(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.volts[top])
    drawn.part("U", f"SWITCH - IN={top} GND=GND OUT={out} EN=E{drawn.number()}")
    drawn.join(top, out)


def pass_transistor(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.volts[top])
    n = drawn.number()
    drawn.part("Q", f"PFET Device:Q_PMOS_GSD G=PG{n} S={top} D={out}")
    drawn.part("R", f"100k Device:R 1:={top} 2:=PG{n}")
    drawn.join(top, out)


def diode_or(drawn: Drawn) -> None:
    one, other = drawn.pick(), drawn.pick()
    out = drawn.rail(max(drawn.volts[one], drawn.volts[other]) - 0.4)
    for top in (one, other):
        drawn.part("D", f"SCHOTTKY Device:D_Schottky 2:A={top} 1:K={out}")
        drawn.join(top, out)


def link(drawn: Drawn) -> None:
    top = drawn.pick()
    out = drawn.rail(drawn.volts[top])
    what = drawn.dice.choice(
        (
            "FB 600R Device:FerriteBead",
            "F 2A Device:Fuse",
            "R 0R Device:R",
            "R 0R005 Device:R",
            "R 10R Device:R",
            "R 100R Device:R",
            "RT NTC Device:Thermistor_NTC",
            "JP OPEN Jumper:SolderJumper_2_Open",
            "JP BRIDGED Jumper:SolderJumper_2_Bridged",
        )
    )
    letters, rest = what.split(" ", 1)
    ref = drawn.part(letters, f"{rest} 1:={top} 2:={out}")
    drawn.join(top, out, ref)


def across(drawn: Drawn) -> None:
    """Two rails that exist, joined by what only a fault (or a hand) closes."""
    a, b = drawn.pick(), drawn.pick()
    if a == b:
        return
    n = drawn.number()
    kind = drawn.dice.choice(("shifter", "relay", "fet", "clamp", "jumper", "mux"))
    if kind == "shifter":
        drawn.part("U", f"SHIFT - VCCA={a} VCCB={b} GND=GND A1=SA{n} B1=SB{n}")
    elif kind == "relay":
        drawn.part("K", f"RELAY Relay:SPST A1=SUPK{n} A2=DRV{n} 13={a} 14={b}")
    elif kind == "fet":
        drawn.part("Q", f"NFET Device:Q_NMOS_GDS G=XG{n} D={a} S={b}")
    elif kind == "clamp":
        drawn.part("D", f"TVS Device:D_TVS A1={a} A2={b}")
    elif kind == "jumper":
        drawn.part("JP", f"OPEN Jumper:SolderJumper_2_Open 1:={a} 2:={b}")
    else:
        drawn.part("U", f"MUX - VIN1={a} VIN2={b} GND=GND OUT=MX{n} ST=ST{n}")
    drawn.join(a, b)


DRAW = (
    discrete_buck,
    discrete_buck,
    integrated_buck,
    integrated_buck,
    linear,
    boost,
    load_switch,
    pass_transistor,
    diode_or,
    link,
    link,
    across,
)


def draw(seed: int) -> Drawn:
    drawn = Drawn(random.Random(seed))
    drawn.part("J", "Connector:Conn_01x02 - 1:=IN 2:=GND")
    drawn.lines[-1] = "J1 - Connector:Conn_01x02 1:=+19V0_IN 2:=GND"
    drawn.rail(19.0, "+19V0_IN")
    if drawn.dice.random() < 0.5:
        drawn.rail(drawn.dice.choice(NOMINALS))
    for _ in range(drawn.dice.randint(2, 7)):
        drawn.dice.choice(DRAW)(drawn)
    return drawn


def lowest(
    drawn: Drawn, start: str, off: frozenset[str] = frozenset()
) -> tuple[float, set[str]]:
    """Brute force: join until nothing changes."""
    inside = {start}
    joined = [(a, b) for a, b, by in drawn.joined if by not in off]
    while True:
        more = {b for a, b in joined if a in inside}
        more |= {a for a, b in joined if b in inside}
        if more <= inside:
            return min(drawn.volts[net] for net in inside), inside
        inside |= more


def nameless(text: str) -> str:
    """Take every pin's name away, as a plain netlist has it."""
    lines = []
    for line in text.splitlines():
        ref, value, library, *pins = line.split()
        nets = [pin.rpartition("=")[2] for pin in pins]
        lines.append(
            " ".join(
                [ref, value, library, *(f"{n + 1}:={x}" for n, x in enumerate(nets))]
            )
        )
    return "\n".join(lines)


@pytest.mark.parametrize("names", [True, False], ids=["pin names", "no pin names"])
@pytest.mark.parametrize("first", range(0, BOARDS * 5, BOARDS))
def test_no_limit_is_above_the_lowest_rail_in_reach(first, names):
    limits = 0
    for seed in range(first, first + BOARDS):
        drawn = draw(seed)
        text = "\n".join(drawn.lines)
        circuit = recognise(board(text if names else nameless(text)), drawn.stated)
        for net in drawn.volts:
            true, _ = lowest(drawn, net)
            answer = inject(circuit, net)
            assert (answer.volts_max is None) == bool(answer.unknown)
            if answer.volts_max is not None:
                limits += 1
                assert 0 < answer.volts_max <= true + 1e-9, (seed, net, text)
    assert limits


@pytest.mark.parametrize("first", range(0, BOARDS * 3, BOARDS))
def test_what_is_off_the_board_leads_nowhere_and_never_lowers_a_limit(first):
    raised = 0
    for seed in range(first, first + BOARDS):
        drawn = draw(seed)
        circuit = recognise(board("\n".join(drawn.lines)), drawn.stated)
        refs = sorted({by for _, _, by in drawn.joined if by})
        off = frozenset(drawn.dice.sample(refs, len(refs) // 2))
        for net in drawn.volts:
            true, _ = lowest(drawn, net, off)
            before, after = inject(circuit, net), inject(circuit, net, off=off)
            assert set(after.rails_reached) <= set(before.rails_reached)
            if after.volts_max is not None:
                assert 0 < after.volts_max <= true + 1e-9, (seed, net, off)
                assert after.volts_max >= (before.volts_max or 0.0)
                raised += after.volts_max > (before.volts_max or 0.0)
    assert raised


def told(drawn: Drawn, net: str) -> bool:
    return net in drawn.stated or net.startswith("+")


def test_a_board_that_tells_all_its_voltages_gets_its_limit():
    # No needless refusals: where every rail's volts are known there is a number, and
    # where all is joined anyway it is the lowest.
    for seed in range(BOARDS * 3):
        drawn = draw(seed)
        if not all(told(drawn, net) for net in drawn.volts):
            continue
        circuit = recognise(board("\n".join(drawn.lines)), drawn.stated)
        for net in drawn.volts:
            answer = inject(circuit, net)
            assert answer.volts_max is not None, (seed, net, answer.missing)
            assert answer.volts_max >= min(drawn.volts.values()) - 1e-9


def test_the_way_named_leads_to_the_rail_that_sets_the_limit():
    for seed in range(BOARDS):
        drawn = draw(seed)
        circuit = recognise(board("\n".join(drawn.lines)), drawn.stated)
        nets_of = {
            part.ref: {pin.net for pin in part.pins} for part in circuit.board.parts
        }
        for net in drawn.volts:
            answer = inject(circuit, net)
            if answer.set_by is None or answer.set_by.net == net:
                continue
            via = answer.set_by.via
            assert net in nets_of[via[0]]
            assert answer.set_by.net in nets_of[via[-1]]
