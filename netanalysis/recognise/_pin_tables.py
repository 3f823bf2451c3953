"""Pin names of chips, drivers and transistors, as makers print them.

One table of regular expressions, read top to bottom; names are cleaned first
(`clean_pin_name`).  A channel mark before or after the name (HO1, A_HO, GHA,
BOOT_2) is split off where the row allows one.  The spellings are those of
makers' data sheets in general (common practice, no single source).
"""

import functools
import re

__all__ = ["CHIP_PINS", "clean_pin_name", "pin_role_by_name", "split_channel"]


@functools.lru_cache(maxsize=65536)
def clean_pin_name(name: str) -> str:
    """Return a pin name in capitals without overbars, braces and spaces.

    >>> clean_pin_name("~{EN}"), clean_pin_name("V_{IN}"), clean_pin_name("*RESET")
    ('EN', 'VIN', 'RESET')
    """
    name = re.sub(r"_\{([^}]*)\}", r"\1", name.upper())
    name = re.sub(r"[~{}*!\\'\" ]", "", name)
    return name.strip("/")


#: (role, base names, whether a channel mark may stand beside the name).
#: Longer words first inside a row: the channel mark takes what is left over.
_ROWS: tuple[tuple[str, str, bool], ...] = (
    # gates: high side, then low side.  GHA = gate, high, phase A.
    (
        "high gate",
        "UGATE|UPGATE|HGATE|GATEH|GATE_H|HSGATE|HSIDE|HIDRV|HIDR|HSDRV|DRVH|DRVU|"
        "HDRV|HSG|HSD|HG|TGATE|TDRV|TG|HO|HOUT|OUTH|UG|GH|DH|HS_?GATE|HS_?DRV|"
        "GATE_?HS|GATE_?HI|TOP_?GATE|UDRV",
        True,
    ),
    (
        "low gate",
        "LGATE|LOGATE|GATEL|GATE_L|LSGATE|LSIDE|LODRV|LODR|LSDRV|DRVL|LDRV|LSG|LSD|"
        "LG|BGATE|BDRV|BG|LO|LOUT|OUTL|GL|DL|LS_?GATE|LS_?DRV|GATE_?LS|GATE_?LO|"
        "BOT_?GATE|BTG",
        True,
    ),
    # the floating end: switch node, also the return of the high driver
    (
        "switch",
        "SWN|SWP|SW_?NODE|VSW|SWITCH|PHASE|SW|LX|PH|VSWH|HS|SH|VLX|PGND_?SW|"
        "BOOT_?R|BST_?R|BOOT_?RTN",
        True,
    ),
    ("boot", "BOOT|BOOST|CBOOT|VBST|VBOOT|BST|BSTR|CBST|HB|VB|BS|CB|BTST", True),
    # feedback before outputs: "FB/VOUT" is a feedback pin
    (
        "feedback",
        "VFB|FEEDBACK|FBX|FB|ADJ|VADJ|VSENSE|VOSNS|VOS|FBK|VFBK|ADJUST|INV|VSET",
        True,
    ),
    (
        "enable",
        "ENABLE|EN_?UVLO|ENUVLO|EN|SHDN|SHTD|SHUTDOWN|SD|RUN|ONOFF|ON|CE|STBY|UVLO|"
        "PSON|PWR_?EN|DIS|DISABLE|CHIP_?EN|CTRL|INH",
        True,
    ),
    (
        "sense",
        "CSP|CSN|CS\\+|CS-|CS|ISENSE|ISEN|ISNS|SENSE\\+|SENSE-|SENSEP|SENSEN|SENSE|"
        "SNS\\+|SNS-|SNSP|SNSN|SNS|RS\\+|RS-|ISP|ISN|CSH|CSL|IMON|VSNS\\+|SRP|SRN|"
        "IN\\+|IN-|ACP|ACN|ICS|ILIM_?SENSE",
        True,
    ),
    # the single gate output of a hot-swap, flyback or pass controller
    ("gate drive", "GATE|GDRV|GDR|DRV|DRIVE|EXT|GATE_?OUT|PGATE|NGATE|DGATE|G", True),
    (
        "ground",
        "PADGND|PGND|AGND|DGND|SGND|GNDA|GNDD|GNDP|GNDIO|GND|GROUND|VSSA|VSSD|VSS|"
        "AVSS|DVSS|PVSS|VEE|0V|COM|V-|VSSIO|GNDS|EPGND|EP_?GND|GND_?EP|GND_?PAD|"
        "THERMAL_?GND|[A-Z0-9]{1,8}_GND",
        True,
    ),
    ("output", "VOUT\\d?|VO|OUT|VOUTS|VLDO|LDO_?OUT|PVOUT|OUT_?[AB]|VREG|OUTP", True),
    (
        "input",
        "PVIN|AVIN|VCIN|VINP|VIN|VI|IN|PVDDIN|DCIN|VINA|VINB|SVIN|BVIN|VIN_?[AB]|ACIN|"
        "V?LDO_?IN|VDRAIN|P?V(?:IN|DD|CC)_?(?:BUCK|DCDC|BK)\\w{0,5}|"
        "(?:BUCK|DCDC)\\w{0,2}_?P?V?IN",
        True,
    ),
    (
        "supply",
        "AVCC|DVCC|PVCC|VCCA|VCCB|VCCI|VCCIO|VCC\\w{0,4}|AVDD|DVDD|PVDD|VDDA|VDDB|"
        "VDDIO|VDD\\w{0,6}|VSUP|VSYS|VS|V\\+|VBAT|VBATT|VM|VP|VBUS|IOVDD|IOVCC|"
        "VIO|VCORE|VCPU|VGPU|VSOC|VMEM|VRAM|VAUX|VDRV|VDRIVE|BIAS|VCCQ|VDDQ|VPP|VTREF|VPWR|PWR|3V3|5V|1V8|\\+?\\d+V\\d*|"
        "VREFB|VL|INTVCC|DRVCC|VLOGIC|DVIO|\\w{1,4}_SUPPLY|SUPPLY",
        True,
    ),
)

_MARK = r"[A-H]|\d{1,2}|[UVW]"


def _compile(base: str, channel: bool) -> re.Pattern[str]:
    if not channel:
        return re.compile(rf"^(?:{base})$")
    return re.compile(
        rf"^(?:(?P<before>CH\d|{_MARK})_)?(?:{base})(?:_?(?P<after>{_MARK}))?$"
    )


CHIP_PINS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (role, _compile(base, channel)) for role, base, channel in _ROWS
)


@functools.lru_cache(maxsize=65536)
def pin_role_by_name(name: str) -> tuple[str, str]:
    """Return (role, channel mark) that a chip's pin name claims, or ("", "").

    Of a double name ("EN/UVLO", "FB/VOUT") the first part with a role counts.
    """
    cleaned = clean_pin_name(name)
    if match := re.match(
        r"^([+-])(V(?:IN|OUT|O|I))$|^(V(?:IN|OUT|O|I))([+-])$", cleaned
    ):
        # Modules mark both ends of a port: the negative one is its return.
        negative = "-" in (match[1], match[4])
        port = "input" if "I" in (match[2] or match[3]) else "output"
        return ("ground" if negative else port), ""
    for piece in re.split(r"[/,(]", cleaned):
        piece = piece.rstrip(")").strip("#")
        if not piece:
            continue
        for role, pattern in CHIP_PINS:
            if match := pattern.match(piece):
                return role, (match["before"] or match["after"] or "")
    return "", ""


def split_channel(mark: str) -> int:
    """Return a channel mark as a number from 0 ("A", "1" and "U" are 0)."""
    mark = mark.removeprefix("CH")
    if mark.isdigit():
        return max(int(mark) - 1, 0)
    if mark in ("U", "V", "W"):
        return "UVW".index(mark)
    return ord(mark) - ord("A") if mark else 0
