"""Blocks that the invented boards are made of: entry, bucks, loads."""

from bench.maker import Maker
from bench.model import Side, Stage

__all__ = [
    "Phases",
    "back_to_back",
    "buck",
    "integrated",
    "loads",
    "single",
    "small_rail",
]

_FETS_LOW = ("NF30L40", "NF30L52", "NF25L60")
_FETS_HIGH = ("NF30H12", "NF30H18", "NF25H20")
_CONTROLLERS = ("PX4100", "PX4310", "PX4622")
_DRIVERS = ("DR205", "DR211")


class Phases:
    """Style of the switching stages of one board, drawn once."""

    def __init__(self, maker: Maker) -> None:
        rng = maker.rng
        self.gates = rng.choice(("own", "own", "shared", "none"))
        self.pull_down = rng.random() < 0.6
        self.snubber = rng.random() < 0.4
        self.boot_diode = rng.random() < 0.5
        self.boot_resistor = rng.random() < 0.3
        self.shunt = rng.random() < 0.3
        self.ohms_high = rng.choice(("0R", "1R", "2R2", "4R7"))
        self.ohms_low = rng.choice(("0R", "1R", "2R2"))
        self.high, self.low = rng.choice(_FETS_HIGH), rng.choice(_FETS_LOW)


def _side(
    maker: Maker,
    style: Phases,
    count: int,
    nets: tuple[str, str, str],
    driver: tuple[str, str, str],
    at: tuple[float, float],
    high: bool,
) -> Side:
    """Parallel switches from ``nets[0]`` to ``nets[1]``, driven from ``nets[2]``."""
    drain, source, drive = nets
    value, ohms = (style.high, style.ohms_high) if high else (style.low, style.ohms_low)
    switches, resistors = [], {}
    shared = ""
    gate = drive
    if style.gates == "shared" or (style.gates == "own" and count == 1):
        gate = f"{drive}_G"
        shared = maker.two("resistor", ohms, drive, gate, (at[0] - 4, at[1]))
    for n in range(count):
        own = gate
        spot = (at[0] + 8 * n, at[1])
        if style.gates == "own" and count > 1:
            own = f"{drive}_G{n + 1}"
            resistor = maker.two("resistor", ohms, drive, own, (spot[0] - 3, spot[1]))
        else:
            resistor = shared
        ref = maker.switch(value, drain, own, source, spot)
        switches.append(ref)
        if resistor:
            resistors[ref] = resistor
        if style.pull_down and (own != gate or n == 0):
            maker.two("resistor", "10k", own, source, (spot[0] - 3, spot[1] + 3))
    return Side(switches, resistors, *driver)


def _phase(
    maker: Maker,
    style: Phases,
    name: str,
    vin: str,
    out: str,
    chip: tuple[str, dict[str, str], str],
    counts: tuple[int, int],
    at: tuple[float, float],
    boot: tuple[str, str],
    small: bool = False,
) -> None:
    """Power part of one phase; ``chip`` is the driver, its pins, a suffix of them."""
    ref, pins, tail = chip
    rng = maker.rng
    node = f"/{name}_SW"
    high = _side(
        maker, style, counts[0], (vin, node, f"/{name}_HG"),
        (ref, pins[f"HG{tail}"], pins[f"SW{tail}"]), at, True,
    )  # fmt: skip
    low = _side(
        maker, style, counts[1], (node, "GND", f"/{name}_LG"),
        (ref, pins[f"LG{tail}"], pins["GND"]), (at[0], at[1] + 9), False,
    )  # fmt: skip
    x, y = at
    supply, boot_net = boot
    boot_end = boot_net
    if style.boot_resistor:
        boot_end = f"{boot_net}_R"
        maker.two("resistor", "2R2", boot_net, boot_end, (x - 6, y - 2))
    maker.two("capacitor", "220n 25V", boot_end, node, (x - 6, y))
    if style.boot_diode:
        maker.two("diode", "BS140", supply, boot_net, (x - 8, y - 2), model="schottky")
    if style.snubber:
        middle = f"/{name}_SN"
        maker.two("resistor", "2R2", node, middle, (x + 4, y + 14))
        maker.two("capacitor", "1n 50V", middle, "GND", (x + 6, y + 14))
    ohms = rng.uniform(8e-3, 35e-3) if small else rng.uniform(0.4e-3, 2.5e-3)
    value = "2u2" if small else rng.choice(("0u15", "0u22", "0u36", "0u47"))
    end = out
    if style.shunt:
        end = f"/{name}_CS"
        maker.two(
            "resistor", rng.choice(("R002", "R005", "1m")), end, out, (x + 6, y + 22)
        )
    maker.two("inductor", value, node, end, (x + 2, y + 17), ohms=ohms)
    maker.caps(vin, rng.randint(2, 4), "10u 35V", (x + 4, y - 5), 3)
    maker.stages.append(Stage("synchronous buck", out, vin, [high, low]))


def buck(
    maker: Maker, vin: str, out: str, volts: float, at: tuple[float, float]
) -> None:
    """Add the many-phase core regulator."""
    rng = maker.rng
    style = Phases(maker)
    phases = rng.choice((1, 2, 2, 3, 3, 4, 6))
    counts = (rng.choice((1, 1, 2, 2, 3)), rng.choice((1, 2, 2, 3)))
    if maker.scale < 0.5:
        phases, counts = min(phases, 2), (min(counts[0], 2), min(counts[1], 2))
    apart = phases == 6 or rng.random() < 0.5
    maker.rails[out] = volts
    pitch = max(14.0, 8.0 * max(counts) + 6)
    common = {
        "VCC": "+5V", "GND": "GND", "FB": f"/{out}_FB", "EN": f"/{out}_EN",
        "PGOOD": f"/{out}_PG", "VIN": vin, "COMP": f"/{out}_COMP",
    }  # fmt: skip
    x, y = at
    if apart:
        pwm = {f"PWM{n + 1}": f"/{out}_PWM{n + 1}" for n in range(phases)}
        maker.chip(rng.choice(_CONTROLLERS), common | pwm, (x - 14, y + 6))
        for n in range(phases):
            name = f"PH{n + 1}"
            pins = {
                "VCC": "+5V", "GND": "GND", "PWM": f"/{out}_PWM{n + 1}",
                "HG": f"/{name}_HG", "SW": f"/{name}_SW", "BOOT": f"/{name}_BST",
                "LG": f"/{name}_LG", "EN": f"/{out}_DREN",
            }  # fmt: skip
            spot = (x + n * pitch, y)
            chip, numbers = maker.chip(_drv(maker), pins, (spot[0] - 6, spot[1] + 4))
            maker.two("capacitor", "1u 16V", "+5V", "GND", (spot[0] - 8, spot[1] + 6))
            _phase(maker, style, name, vin, out, (chip, numbers, ""), counts, spot,
                   ("+5V", f"/{name}_BST"))  # fmt: skip
        maker.two("resistor", "10k", "+5V", f"/{out}_DREN", (x - 12, y + 12))
    else:
        pins = dict(common)
        for n in range(phases):
            name, tail = f"PH{n + 1}", str(n + 1)
            pins |= {
                f"HG{tail}": f"/{name}_HG", f"SW{tail}": f"/{name}_SW",
                f"BOOT{tail}": f"/{name}_BST", f"LG{tail}": f"/{name}_LG",
            }  # fmt: skip
        chip, numbers = maker.chip(rng.choice(_CONTROLLERS), pins, (x - 14, y + 6))
        for n in range(phases):
            name, tail = f"PH{n + 1}", str(n + 1)
            _phase(maker, style, name, vin, out, (chip, numbers, tail), counts,
                   (x + n * pitch, y), ("+5V", f"/{name}_BST"))  # fmt: skip
    _feedback(maker, out, volts, (x - 14, y + 14))
    _pull(maker, f"/{out}_PG", "+3V3", (x - 14, y + 16))
    _pull(maker, f"/{out}_EN", "+3V3", (x - 12, y + 16))
    maker.two("resistor", "10k", f"/{out}_COMP", f"/{out}_COMP1", (x - 16, y + 18))
    maker.two("capacitor", "1n 50V", f"/{out}_COMP1", "GND", (x - 16, y + 20))
    maker.caps(out, rng.randint(10, 40), rng.choice(("22u 6V3", "47u 4V", "330u 2V")),
               (x + phases * pitch / 2, y + 32), 8)  # fmt: skip
    maker.two("capacitor", "1u 16V", "+5V", "GND", (x - 16, y + 6))


def _drv(maker: Maker) -> str:
    return _DRIVERS[len(maker.name) % 2]


def _pull(maker: Maker, net: str, rail: str, at: tuple[float, float]) -> None:
    maker.two("resistor", maker.rng.choice(("4k7", "10k", "100k")), rail, net, at)


def _feedback(maker: Maker, out: str, volts: float, at: tuple[float, float]) -> None:
    """Divider to a reference of 0.6 V, in the E24 series."""
    low = maker.rng.choice((10e3, 20e3, 4.7e3))
    high = max(low * (volts / 0.6 - 1), 100.0)
    steps = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56)
    steps += (62, 68, 75, 82, 91)
    decade = 1.0
    while high / decade >= 100:
        decade *= 10
    best = min(steps, key=lambda s: abs(s * decade - high))
    maker.two("resistor", text_of(best * decade), out, f"/{out}_FB", at)
    maker.two("resistor", text_of(low), f"/{out}_FB", "GND", (at[0], at[1] + 2))


def text_of(ohms: float) -> str:
    """Return a value as people draw it."""
    if ohms >= 1e3:
        whole, rest = divmod(round(ohms / 100), 10)
        return f"{whole}k{rest}" if rest else f"{whole}k"
    return f"{ohms:g}R"


def single(
    maker: Maker, vin: str, out: str, volts: float, name: str, at: tuple[float, float]
) -> None:
    """Add a smaller buck: its controller drives one switch on each side."""
    maker.rails[out] = volts
    style = Phases(maker)
    drive = f"/{name}_VDRV"
    pins = {
        "VIN": vin, "VCC": drive, "GND": "GND", "HG": f"/{name}_HG",
        "SW": f"/{name}_SW", "BOOT": f"/{name}_BST", "LG": f"/{name}_LG",
        "FB": f"/{out}_FB", "EN": f"/{name}_EN", "PGOOD": f"/{name}_PG",
    }  # fmt: skip
    chip, numbers = maker.chip("PX2050", pins, (at[0] - 7, at[1] + 4))
    counts = (1, maker.rng.choice((1, 1, 2)))
    maker.two("capacitor", "4u7 10V", drive, "GND", (at[0] - 10, at[1]))
    maker.two("resistor", "100k", vin, f"/{name}_EN", (at[0] - 10, at[1] + 8))
    maker.two("resistor", "10k", f"/{name}_PG", out, (at[0] - 10, at[1] + 10))
    _phase(maker, style, name, vin, out, (chip, numbers, ""), counts, at,
           (drive, f"/{name}_BST"), small=True)  # fmt: skip
    _feedback(maker, out, volts, (at[0] - 9, at[1] + 12))
    maker.caps(out, maker.rng.randint(5, 16), "22u 10V", (at[0] + 4, at[1] + 28), 6)


def integrated(
    maker: Maker, vin: str, out: str, volts: float, name: str, at: tuple[float, float]
) -> None:
    """Add a buck with its switches inside the chip."""
    maker.rails[out] = volts
    node = f"/{name}_SW"
    pins = {
        "VIN": vin, "GND": "GND", "SW": node, "BOOT": f"/{name}_BST",
        "FB": f"/{out}_FB", "EN": f"/{name}_EN", "PGOOD": f"/{name}_PG",
    }  # fmt: skip
    chip, _ = maker.chip("PB3020", pins, at)
    maker.two("capacitor", "100n 25V", f"/{name}_BST", node, (at[0] + 4, at[1]))
    maker.two("inductor", "4u7", node, out, (at[0] + 7, at[1] + 3),
              ohms=maker.rng.uniform(15e-3, 90e-3))  # fmt: skip
    maker.two("resistor", "100k", vin, f"/{name}_EN", (at[0] - 3, at[1] + 3))
    _pull(maker, f"/{name}_PG", out, (at[0] - 3, at[1] + 5))
    _feedback(maker, out, volts, (at[0] - 3, at[1] + 7))
    maker.caps(vin, 2, "10u 35V", (at[0] - 3, at[1] - 3), 2)
    maker.caps(out, maker.rng.randint(5, 12), "22u 10V", (at[0] + 9, at[1] + 9), 4)
    maker.stages.append(Stage("integrated buck", out, vin, [], chip))


def small_rail(
    maker: Maker, vin: str, out: str, volts: float, name: str, at: tuple[float, float]
) -> None:
    """Add an LDO or a load switch."""
    maker.rails[out] = volts
    if volts == maker.rails.get(vin):
        chip, _ = maker.chip(
            "LS118", {"IN": vin, "OUT": out, "GND": "GND", "EN": f"/{name}_EN"}, at
        )
        kind = "load switch"
    else:
        chip, _ = maker.chip(
            "LR330", {"VIN": vin, "GND": "GND", "EN": f"/{name}_EN", "VOUT": out}, at
        )
        kind = "linear regulator"
    maker.two("resistor", "100k", vin, f"/{name}_EN", (at[0] - 3, at[1]))
    maker.caps(vin, 1, "1u 16V", (at[0] - 2, at[1] + 3), 1)
    maker.caps(out, maker.rng.randint(5, 10), "1u 16V", (at[0] + 3, at[1] + 4), 4)
    maker.stages.append(Stage(kind, out, vin, [], chip))


def back_to_back(maker: Maker, entry: str, main: str, at: tuple[float, float]) -> None:
    """Two pass switches in series behind the connector, and their controller."""
    pins = {
        "VCC": entry, "GND": "GND", "GATE": "/IN_GATE", "VOUT": main,
        "SRC": "/IN_MID", "EN": "/IN_EN",
    }  # fmt: skip
    chip, numbers = maker.chip("IG207", pins, (at[0], at[1] + 8))
    one = maker.switch("NF40P08", entry, "/IN_G1", "/IN_MID", at)
    two = maker.switch("NF40P08", main, "/IN_G1", "/IN_MID", (at[0] + 9, at[1]))
    resistor = maker.two(
        "resistor", "10R", "/IN_GATE", "/IN_G1", (at[0] + 3, at[1] + 5)
    )
    maker.two("resistor", "100k", entry, "/IN_EN", (at[0], at[1] + 12))
    maker.two("resistor", "1M", "/IN_G1", "/IN_MID", (at[0] + 6, at[1] + 5))
    driver = (chip, numbers["GATE"], numbers["SRC"])
    for ref in (one, two):
        side = Side([ref], {ref: resistor}, *driver)
        maker.stages.append(Stage("back-to-back pass", main, entry, [side]))


def loads(maker: Maker, rail: str, count: int, at: tuple[float, float]) -> None:
    """Chips that live on a rail, with their own capacitors and pull-ups."""
    rng = maker.rng
    for n in range(count):
        spot = (at[0] + rng.uniform(-12, 12), max(0.0, at[1] + rng.uniform(-12, 12)))
        pins = {f"VDD*{i}": rail for i in range(rng.choice((1, 2, 4)))}
        pins |= {f"GND*{i}": "GND" for i in range(rng.choice((1, 2, 4)))}
        signal = f"/{rail.strip('+')}_IO{n}"
        pins |= {"IO0": f"{signal}A", "IO1": f"{signal}B"}
        maker.chip(rng.choice(("LX100", "MX220", "TX7")), pins, spot)
        maker.two(
            "resistor", rng.choice(("2k2", "4k7", "10k")), rail, f"{signal}A", spot
        )
        if rng.random() < 0.5:
            maker.two("resistor", "33R", f"{signal}A", f"{signal}C", spot)
        if rng.random() < 0.4:
            maker.two("resistor", "100k", f"{signal}B", "GND", spot)
        maker.caps(rail, rng.randint(1, 3), "100n 16V", spot, 3)
