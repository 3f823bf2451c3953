"""Which ratings of which part a replacement must meet or beat (common practice)."""

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["RATINGS", "Rating"]


@dataclass(frozen=True, slots=True)
class Rating:
    """One rating, and where a design file may say it."""

    name: str
    #: "at least", "at most", "the same" or "as".
    rule: str
    unit: str
    #: Names of part fields, any case.
    fields: tuple[str, ...] = ()
    #: The field of a `Value` that holds it, empty if none.
    value: str = ""


def _rating(
    name: str, rule: str, unit: str, fields: str = "", value: str = ""
) -> Rating:
    return Rating(name, rule, unit, tuple(f for f in fields.split("|") if f), value)


_VOLTS = "Voltage|Voltage Rating|Rated Voltage|Rating"
_AMPS = "Current|Current Rating|Rated Current"
_WATTS = "Power|Power Rating|Rated Power"
_TOLERANCE = "Tolerance|Tol"
_CURRENT = _rating("current", "at least", "A", _AMPS, "amps")
_TOL = _rating("tolerance", "at most", "%", _TOLERANCE, "tolerance")

#: By part kind, the ones that matter most first.
RATINGS: Mapping[str, tuple[Rating, ...]] = {
    "mosfet": (
        _rating(
            "drain-source voltage",
            "at least",
            "V",
            f"Vds|V_DS|VDSS|Vds Max|{_VOLTS}",
            "volts",
        ),
        _rating("drain current", "at least", "A", f"Id|I_D|{_AMPS}", "amps"),
        _rating("on-resistance", "at most", "ohm", "Rds|Rds(on)|Rdson|RDS_ON|R_DS(on)"),
        _rating("gate charge", "at most", "C", "Qg|Gate Charge|Q_G"),
        _rating("gate threshold", "as", "V", "Vgs(th)|Vth|Vgsth|Gate Threshold"),
        _rating("gate-source voltage", "at least", "V", "Vgs|V_GS|VGSS|Vgs Max"),
    ),
    "igbt": (
        _rating(
            "collector-emitter voltage", "at least", "V", f"Vces|{_VOLTS}", "volts"
        ),
        _rating("collector current", "at least", "A", f"Ic|{_AMPS}", "amps"),
        _rating("saturation voltage", "at most", "V", "Vce(sat)|Vcesat"),
        _rating("gate charge", "at most", "C", "Qg|Gate Charge"),
        _rating("gate threshold", "as", "V", "Vge(th)|Vth"),
        _rating("short-circuit time", "at least", "s", "tsc"),
    ),
    "bipolar": (
        _rating(
            "collector-emitter voltage", "at least", "V", f"Vceo|{_VOLTS}", "volts"
        ),
        _rating("collector current", "at least", "A", f"Ic|{_AMPS}", "amps"),
        _rating("current gain", "as", "", "hFE|Gain"),
        _rating("power", "at least", "W", _WATTS, "watts"),
    ),
    "diode": (
        _rating("reverse voltage", "at least", "V", f"Vrrm|Vr|{_VOLTS}", "volts"),
        _rating("forward current", "at least", "A", f"If|Io|{_AMPS}", "amps"),
        _rating("forward voltage", "at most", "V", "Vf|Forward Voltage"),
        _rating("recovery time", "at most", "s", "trr"),
    ),
    "zener": (
        _rating("zener voltage", "the same", "V", f"Vz|{_VOLTS}", "volts"),
        _rating("power", "at least", "W", _WATTS, "watts"),
        _TOL,
    ),
    "tvs": (
        _rating("stand-off voltage", "the same", "V", f"Vrwm|{_VOLTS}", "volts"),
        _rating("clamping voltage", "at most", "V", "Vc|Vclamp|Clamping Voltage"),
        _rating("peak power", "at least", "W", f"Pppm|{_WATTS}", "watts"),
    ),
    "led": (
        _rating("colour", "the same", "text", "Color|Colour"),
        _rating("forward voltage", "as", "V", "Vf"),
        _rating("forward current", "at least", "A", f"If|{_AMPS}", "amps"),
    ),
    "capacitor": (
        _rating("capacitance", "the same", "F", "Capacitance", "farads"),
        _rating("voltage", "at least", "V", _VOLTS, "volts"),
        _rating(
            "dielectric",
            "the same",
            "text",
            "Dielectric|Temperature Coefficient",
            "dielectric",
        ),
        _TOL,
        _rating("series resistance", "at most", "ohm", "ESR"),
        _rating("ripple current", "at least", "A", "Ripple|Ripple Current"),
    ),
    "inductor": (
        _rating("inductance", "the same", "H", "Inductance", "henries"),
        _rating("saturation current", "at least", "A", f"Isat|{_AMPS}", "amps"),
        _rating("heating current", "at least", "A", "Irms"),
        _rating("winding resistance", "at most", "ohm", "DCR", "ohms"),
    ),
    "bead": (
        _rating("impedance", "the same", "ohm", "Impedance", "impedance_ohms"),
        _CURRENT,
        _rating("direct-current resistance", "at most", "ohm", "DCR", "ohms"),
    ),
    "resistor": (
        _rating("resistance", "the same", "ohm", "Resistance", "ohms"),
        _TOL,
        _rating("power", "at least", "W", _WATTS, "watts"),
        _rating("temperature coefficient", "at most", "ppm", "TCR"),
    ),
    "fuse": (
        _rating("current", "the same", "A", _AMPS, "amps"),
        _rating("voltage", "at least", "V", _VOLTS, "volts"),
        _rating("speed", "the same", "text", "Speed|Characteristic|Time-Current"),
        _rating("breaking capacity", "at least", "A", "Breaking Capacity|Interrupt"),
    ),
    "chip": (
        _rating("type", "the same", "text", "MPN|Manufacturer Part Number|Part Number"),
    ),
}
