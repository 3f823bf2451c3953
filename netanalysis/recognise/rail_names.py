"""What a net's name says about a supply: whether it is one, and its volts."""

import re

__all__ = [
    "feeds_a_board",
    "is_supply_name",
    "last_component",
    "volts_from_name",
    "volts_in_text",
]

#: Words that make a name a signal about a supply, not the supply itself.
_SIGNAL = re.compile(
    r"(?:^|[_.\-])(?:EN|ENABLE|EN\d|PG|PGD|PGOOD|GOOD|POK|FAULT|FLT|OC|OVP|OCP|UVLO|FB|"
    r"SENSE|SENS|SNS|VSENSE|MEAS|MEASURE|MON|MONITOR|ADC|DET|DETECT|SW|LX|PHASE|"
    r"GATE|DRV|BST|BOOT|LED|STAT|STATUS|CTRL|CTL|ON|OFF|INT|ALERT|SEL|TX|RX|SDA|SCL|"
    r"CS|RST|RESET|PWM|DIV|ISENSE|IMON|ILIM|COMP|REF|TRIP|LVL|SYNC|CLK|DIS|PRESENT|"
    r"VALID|OK|REQ|ACK|IRQ|TEMP|FAN|N|NEG|SS|RT|COM\d?)(?:$|[_.\-\d])"
)
_ENDINGS = re.compile(r"(?:EN|PG|PGOOD|SENSE|SENS|FAULT|FLT|DET|MEAS|MON|STAT)$")

#: Supplies without a number.  A trailing "_SOMETHING" names the user of the rail.
_SUPPLY = re.compile(
    r"^(?:[ADPU]?V(?:CC|DD)(?:[A-Z]{0,4}\d?|IO\d*)|V(?:IN|OUT|BUS|BAT|BATT|SYS|SUP|"
    r"SUPPLY|MOT|MOTOR|M|P|PP|PWR|POWER|MAIN|RAW|AUX|HV|HIGH|LOW|DC|DCIN|STBY|CORE|"
    r"LED|RTC|PACK|CHG|SOLAR|PV|USB|DRAIN|SWITCHED|CONN|BOOST|BUCK|TARGET|MEM|TT|"
    r"SD|LOGIC|DRIVE|DRV|GATE|GG|EXT)\d?|V?\+?BATT?(?:ERY)?\+?|V?BAT\+|PACK\+|B\+|P\+|"
    r"V\+|VS\+|CHG\+|DC\+|PV\+|LOAD\+|OUT\+|IN\+?_?PWR|HV\+|PWR(?:_IN|_OUT)?|POWER|"
    r"DCIN|DC_IN|MAINS|SYS_?PWR|USB_?(?:PWR|POWER|VBUS)|VBUS\w*|\w{1,10}_VBUS|"
    r"\w{1,8}_(?:VCC|VDD|VIN|PWR|POWER|SUPPLY)|SUPPLY\w{0,8}|[A-Z]{2,6}V(?:CC|DD)|"
    r"V_?(?:HIGH|LOW|IN|OUT|BUS|BAT|SYS|MAIN)\d?|V\d_?(?:HIGH|LOW|IN|OUT)|"
    r"\w{0,10}(?:BATT?|DCDC|HV|LV|CELLS?|MOT|SOLAR|PV|SUPPLY|BUS)\+)"
    r"(?:_[A-Z0-9{}]{1,12})*$"
)

#: Words of a rail that comes from outside or goes to a motor, and of what is neither.
_FROM_OUTSIDE = frozenset(
    "IN VIN DCIN VDCIN BAT VBAT BATT VBATT BATTERY CELL CELLS PACK VPACK CHG VCHG "
    "CHARGER ADAPTER ADP SOLAR PV PANEL BUS VBUS DCBUS MAIN VMAIN MAINS RAW VRAW SYS "
    "VSYS VM MOT VMOT MOTOR VMOTOR HV".split()
)
_OF_A_CORE = re.compile(r"CORE|CPU|GPU|SOC|FPGA|DDR|MEM|VDD|RTC")
#: Volts, most explicit spelling first.
_VOLTS: tuple[re.Pattern[str], ...] = (
    # 3V3, 1V8, P5V0, VDD_1V15, 12V0
    re.compile(r"(?<![0-9.])(-?\d{1,3})V(\d{1,3})(?![0-9])"),
    # 3.3V, +5V, 12V, -12V, 48V_BUS
    re.compile(r"(?<![0-9.A-UW-Z])(-?\d{1,3}(?:\.\d{1,3})?)V(?![0-9])"),
    # 3P3V, 1P8V, V3P3, VDD1P8
    re.compile(r"(?<![0-9.])(\d{1,2})P(\d{1,3})V?(?![0-9])"),
    # VCC3.3, VDD_1.8, VCORE_0.9
    re.compile(r"(?<![0-9.])(\d{1,2}\.\d{1,3})(?![0-9.])"),
)
#: Names in which 3P3 without a V is volts.
_P_NAMES = re.compile(r"^V|VDD|VCC|\dP\dV")


def last_component(net: str) -> str:
    """Return the last path component in capitals, KiCad's braces removed."""
    name = (
        net.rsplit("/", 1)[-1] if not net.startswith(("Net-(", "unconnected")) else ""
    )
    return re.sub(r"[{}~\s]", "", name).upper()


def is_supply_name(net: str) -> bool:
    """Whether a net's name is that of a supply rail.

    >>> is_supply_name("+3V3"), is_supply_name("/Power/VIN"), is_supply_name("EN_3V3")
    (True, True, False)
    """
    name = last_component(net)
    if not name or _SIGNAL.search(name):
        return False
    if volts_from_name(net) is not None:
        return True
    return bool(_SUPPLY.match(name)) and not _ENDINGS.search(name)


def feeds_a_board(net: str) -> bool:
    """Whether a supply's name is that of a battery, an input or a motor, of no core.

    >>> feeds_a_board("/Power/BAT+"), feeds_a_board("VDD_CPU_IN"), feeds_a_board("OUT")
    (True, False, False)
    """
    name = last_component(net)
    words = re.split(r"[^A-Z]+", name)
    return not _OF_A_CORE.search(name) and not _FROM_OUTSIDE.isdisjoint(words)


def volts_from_name(net: str) -> float | None:
    """Return the nominal volts that a net's name states, or None.

    Names that speak about a supply (enable, power good, sense) state none.

    >>> volts_from_name("+3V3"), volts_from_name("VDD_1V8"), volts_from_name("P5V0")
    (3.3, 1.8, 5.0)
    >>> volts_from_name("VIN") is None and volts_from_name("5V_VIN") is None
    True
    """
    name = last_component(net)
    if not name or _SIGNAL.search(name):
        return None
    if re.search(r"\dV\d*_?V?IN(?:$|_)", name) and "VIN" in name:
        return None  # 5V_VIN: the input of the 5 V supply, or 5 V at an input
    return volts_in_text(name)


def volts_in_text(name: str) -> float | None:
    """Return volts spelled in a text in capitals, or None."""
    for place, pattern in enumerate(_VOLTS):
        match = pattern.search(name)
        if match is None or (place == 2 and not _P_NAMES.search(name)):
            continue
        if place == 3 and not re.search(r"V(?:CC|DD|CORE|IN|OUT|BAT)?", name):
            continue
        if match.start() == 1 and name[0].isalpha() and name[0] not in "PVDA":
            continue  # U3V3 is pin V3 of U3
        groups = match.groups()
        volts = float(groups[0] if len(groups) == 1 else f"{groups[0]}.{groups[1]}")
        if 0.3 <= abs(volts) <= 1000.0:
            return volts
    return None
