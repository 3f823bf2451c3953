"""What tells a part's kind: symbol names, refdes letters, part numbers, words.

Each table is read top to bottom, the first match wins.  Symbol names follow
the habits of KiCad and EAGLE libraries; refdes letters IEEE 315 clause 22 and,
where marked (CP), common practice; part-number families the registration
systems Pro Electron (BC, BS, BU ...), JEITA (2SA..2SK) and makers' series.
"""

import re

__all__ = [
    "DESCRIPTIONS",
    "LIBRARIES",
    "POLARITY",
    "REFDES",
    "STATED_WORDS",
    "SYMBOLS",
    "Rule",
    "rules",
]

#: (pattern, kind, sort)
Rule = tuple[re.Pattern[str], str, str]


def rules(*rows: tuple[str, str, str], flags: int = re.IGNORECASE) -> tuple[Rule, ...]:
    return tuple((re.compile(text, flags), kind, sort) for text, kind, sort in rows)


#: Symbol (or library device) names.  A name that could as well be a chip's part
#: number must not match here: the forms are anchored at both ends.
SYMBOLS: tuple[Rule, ...] = rules(
    # mechanical and drawing objects
    (
        r"^(?:mounting_?hole|fiducial|logo|housing|heatsink|spacer|standoff)",
        "other",
        "",
    ),
    (r"logo", "other", ""),
    (r"^(?:test_?point|testpad)|^TP\d{0,3}$|^TP_", "testpoint", ""),
    # jumpers before resistors and switches
    (r"^net[_ -]?tie", "jumper", "net tie"),
    (r"^(?:solder_?)?jumper_?(?:nc|n_?c|.*_bridged|.*closed)", "jumper", "closed"),
    (r"^(?:solder_?)?jumper_?(?:no|n_?o|.*_open)", "jumper", "open"),
    (r"^(?:solder_?)?(?:jumper|bridge)|^SJ(?:_|$)|^JP\d?(?:_|$)", "jumper", ""),
    # passives
    (r"^R_?(?:pack|network|array)|^RN(?:_|$)", "resistor", "network"),
    (r"^(?:R_)?(?:potentiometer|pot|trim)", "resistor", "potentiometer"),
    (
        r"^(?:R_|thermistor|.*_)?(?:ntc|ptc)(?:_|$)|^thermistor",
        "resistor",
        "thermistor",
    ),
    (r"^(?:R_)?shunt|current_?sense_?resistor|kelvin", "resistor", "shunt"),
    (r"varistor|^MOV(?:_|$)|^VDR(?:_|$)", "tvs", "varistor"),
    (r"^(?:R|RES|RESISTOR|R-EU|R-US)(?:_|$|-)", "resistor", ""),
    (
        r"^(?:C|CAP|CP\d?)_?(?:polari[sz]ed|pol|electrolytic)|^CP\d?(?:_|$)|^CPOL",
        "capacitor",
        "polarised",
    ),
    (r"^C_?feed_?through", "capacitor", "feedthrough"),
    (r"^(?:C|CAP|CAPACITOR|C-EU|C-US)(?:_|$|-)", "capacitor", ""),
    (r"^supercap", "capacitor", "electrolytic"),
    (
        r"^(?:ferrite_?bead|ferritebead|bead|FB|FERRITE|L_ferrite_?bead)(?:_|$|\d)",
        "bead",
        "",
    ),
    (
        r"(?<![a-z])emi_?(?:common_?mode|cm)|common_?mode|^CMC(?:_|$)|L_?coupled|^EMI_Filter_CM",
        "inductor",
        "common-mode",
    ),
    (r"^(?:L|INDUCTOR|INDUCTANCE|L-EU|L-US|IND|coil)(?:_|$|-)", "inductor", ""),
    (
        r"^(?:fuse|polyfuse|ptc_?fuse|F|fuseholder|fuse_holder|resettable_fuse)(?:_|$)",
        "fuse",
        "",
    ),
    (r"^(?:transformer|trafo|T_|xfmr)", "transformer", ""),
    # diodes
    (r"^(?:D_)?(?:TVS|ESD|transil).*(?:x2|2_|dual|array)", "tvs", "array"),
    (r"^D_TVS(?:_Filled)?$", "tvs", "bidirectional"),
    (r"^(?:D_)?(?:TVS|transil|ESD_?diode)", "tvs", ""),
    (r"^D_photo|^photodiode", "diode", "photo"),
    (r"^(?:D_)?zener|^ZENER", "zener", ""),
    (r"^(?:LED|D_LED|LED_?dual)(?:_|$|\d)", "led", ""),
    (
        r"^(?:D_)?schottky(?:.*(?:x2|dual|common|serial|_A[CK]))",
        "diode",
        "schottky dual",
    ),
    (r"^(?:D_)?schottky|SCHOTTKY", "diode", "schottky"),
    (r"^(?:D_)?bridge", "diode", "bridge"),
    (
        r"^D_x?\d*_?(?:serial|ser|com_|common|dual|x2|KAK|AKA)|^D_(?:AAK|AKA|KAK|KKA)",
        "diode",
        "dual",
    ),
    (r"^(?:D|DIODE)(?:_|$|-)", "diode", ""),
    # transistors
    (
        r"^(?:Q_)?(?:dual_?)?N_?(?:MOS|MOSFET|FET)|^Q_NMOS|^NMOS|^MOSFET-?_?N|^N-?MOS",
        "mosfet",
        "n-channel",
    ),
    (
        r"^(?:Q_)?(?:dual_?)?P_?(?:MOS|MOSFET|FET)|^Q_PMOS|^PMOS|^MOSFET-?_?P|^P-?MOS",
        "mosfet",
        "p-channel",
    ),
    (r"^Q_Dual_(?:NMOS|PMOS)_?(?:NMOS|PMOS)", "mosfet", "dual"),
    (r"^MOSFET(?:_|$|-)", "mosfet", ""),
    (r"^Q_?(?:dual_)?NPN|^NPN(?:_|$|-)", "bipolar", "npn"),
    (r"^Q_?(?:dual_)?PNP|^PNP(?:_|$|-)", "bipolar", "pnp"),
    (r"^Q_?N?IGBT|^IGBT", "igbt", "n-channel"),
    # the rest
    (r"^(?:crystal|resonator|xtal)", "crystal", ""),
    (r"^(?:SW|switch|button|tactile|push_?button)(?:_|$|-)", "switch", ""),
    (r"^(?:relay|fin_?der)", "relay", ""),
    (r"^(?:battery|batt|coin_?cell)", "battery", ""),
    (
        r"^(?:conn|connector|hdr|header|pin_?header|pinhd|usb_(?:[ABC]|micro|mini)|rj\d|"
        r"barrel_?jack|screw_?terminal|jack|xt\d\d|audio_?jack|sim_?card|micro_?sd)"
        r"(?:_|$|-|\d)",
        "connector",
        "",
    ),
    (r"^(?:antenna|speaker|buzzer|microphone|motor)", "other", ""),
)

#: Library names that hold one kind only, whatever the symbol is called.
LIBRARIES: tuple[Rule, ...] = rules(
    (r"^Transistor_FET|MOSFET|transistors?_?FET|FETs?_?Single|FETArray", "mosfet", ""),
    (r"^Transistor_BJT|BJT|bipolar", "bipolar", ""),
    (r"^Transistor_IGBT|IGBT", "igbt", "n-channel"),
    (r"^Diode_Bridge", "diode", "bridge"),
    (r"TVSDiodes?|^Power_Protection", "tvs", ""),
    (r"DiodesZener|ZenerDiodes?", "zener", ""),
    (r"^Diode|DiodesRectif|Rectifier", "diode", ""),
    (r"^LED|LEDIndication", "led", ""),
    (r"FerriteBeads?", "bead", ""),
    (r"^Fuses?$|Fuses$", "fuse", ""),
    (r"(?:Fixed|Power)?Inductors?$", "inductor", ""),
    (r"^Transformers?$|Transformers$", "transformer", ""),
    (r"^Relays?$|Relays$", "relay", ""),
    (r"^Connector|Connectors?$|ConnectorsJacks|^con-", "connector", ""),
    (r"^Mechanical$|MechanicalParts$|^Graphic$", "other", ""),
    (r"^Switch$|Switches$|PushbuttonSwitch|TactileSwitch", "switch", ""),
    (
        r"^(?:Regulator|Interface|MCU|Amplifier|Logic|74x|4xxx|Memory|Sensor|Driver|"
        r"Power_Management|Power_Supervisor|Battery_Management|Analog|Timer|RF|DSP|FPGA|"
        r"CPU|Reference_Voltage|Comparator|Isolator|Converter|Audio|Video|Display|"
        r"Oscillator|Potentiometer_Digital|Espressif)",
        "chip",
        "",
    ),
    (
        r"PMIC|Microcontrollers|Interface(?:Controllers|Drivers)|Logic|Memory$|"
        r"DCDCConverters",
        "chip",
        "",
    ),
)

#: Refdes letters: (letters, kind, sort).  Longest first.  "?" kinds are decided
#: by pins and value in `kinds`.
REFDES: dict[str, tuple[str, str]] = {
    # IEEE 315 clause 22
    "R": ("resistor", ""),
    "RN": ("resistor", "network"),
    "RP": ("resistor", "network"),
    "RA": ("resistor", "network"),
    "RT": ("resistor", "thermistor"),
    "RV": ("resistor", "potentiometer"),
    "C": ("capacitor", ""),
    "L": ("inductor", ""),
    "D": ("diode", ""),
    "CR": ("diode", ""),
    "VR": ("?", "zener or regulator"),
    "DS": ("led", ""),
    "F": ("fuse", ""),
    "CB": ("fuse", ""),
    "Q": ("?", "transistor"),
    "U": ("chip", ""),
    "J": ("connector", ""),
    "P": ("connector", ""),
    "TB": ("connector", ""),
    "XF": ("fuse", "holder"),
    "TP": ("testpoint", ""),
    "Y": ("crystal", ""),
    "K": ("relay", ""),
    "S": ("switch", ""),
    "SW": ("switch", ""),
    "BT": ("battery", ""),
    "T": ("?", "transformer or transistor"),
    "X": ("?", "connector or crystal"),
    "FL": ("?", "filter"),
    # common practice
    "IC": ("chip", ""),
    "FB": ("bead", ""),
    "BEAD": ("bead", ""),
    "FER": ("bead", ""),
    "PF": ("fuse", "resettable"),
    "FU": ("fuse", ""),
    "FS": ("fuse", ""),
    "LED": ("led", ""),
    "ZD": ("zener", ""),
    "DZ": ("zener", ""),
    "TVS": ("tvs", ""),
    "VDR": ("tvs", "varistor"),
    "MOV": ("tvs", "varistor"),
    "EC": ("capacitor", "electrolytic"),
    "CE": ("capacitor", "electrolytic"),
    "CP": ("capacitor", "polarised"),
    "RS": ("resistor", ""),
    "RSH": ("resistor", "shunt"),
    "RSENSE": ("resistor", "shunt"),
    "SH": ("resistor", "shunt"),
    "NTC": ("resistor", "thermistor"),
    "PTC": ("resistor", "thermistor"),
    "TH": ("resistor", "thermistor"),
    "POT": ("resistor", "potentiometer"),
    "TR": ("?", "transformer or transistor"),
    "VT": ("?", "transistor"),
    "M": ("?", "transistor"),
    "CN": ("connector", ""),
    "CON": ("connector", ""),
    "CONN": ("connector", ""),
    "HDR": ("connector", ""),
    "JK": ("connector", ""),
    "USB": ("connector", ""),
    "XS": ("connector", ""),
    "XP": ("connector", ""),
    "PAD": ("connector", ""),
    "XTAL": ("crystal", ""),
    "RL": ("relay", ""),
    "RLY": ("relay", ""),
    "BAT": ("battery", ""),
    "BTN": ("switch", ""),
    "PB": ("switch", ""),
    "JP": ("jumper", ""),
    "SJ": ("jumper", ""),
    "NT": ("jumper", "net tie"),
    "H": ("other", ""),
    "MH": ("other", ""),
    "MP": ("other", ""),
    "FID": ("other", ""),
    "LOGO": ("other", ""),
    "ANT": ("other", ""),
    "AE": ("other", ""),
    "LS": ("other", ""),
    "BZ": ("other", ""),
    "MK": ("other", ""),
}

#: Words in the description or keywords.
DESCRIPTIONS: tuple[Rule, ...] = rules(
    (r"insulated gate|\bIGBT\b", "igbt", "n-channel"),
    (r"dual n-?channel", "mosfet", "n-channel dual"),
    (r"dual p-?channel", "mosfet", "p-channel dual"),
    (r"(?:gate|fet|mosfet|bridge)[- ]+(?:pre)?-?driver|driver", "chip", ""),
    (
        r"\bN-?(?:ch(?:annel)?)?[- ]*(?:power )?(?:MOSFET|MOS|FET)\b",
        "mosfet",
        "n-channel",
    ),
    (
        r"\bP-?(?:ch(?:annel)?)?[- ]*(?:power )?(?:MOSFET|MOS|FET)\b",
        "mosfet",
        "p-channel",
    ),
    (r"\bMOSFET\b.*\bN-?ch", "mosfet", "n-channel"),
    (r"\bMOSFET\b.*\bP-?ch", "mosfet", "p-channel"),
    (r"\bMOSFET transistor|\bpower mosfet|\bmosfet,", "mosfet", ""),
    (r"\bNPN\b", "bipolar", "npn"),
    (r"\bPNP\b", "bipolar", "pnp"),
    (r"ferrite bead", "bead", ""),
    (r"common[- ]mode (?:choke|filter)", "inductor", "common-mode"),
    (r"varistor", "tvs", "varistor"),
    (
        r"bidirectional (?:transil|tvs|transient)|\bTVS\b.*bi-?directional",
        "tvs",
        "bidirectional",
    ),
    (
        r"\bTVS\b|transient[- ]voltage[- ]suppress|\bESD (?:protection|suppress|diode)|"
        r"transil",
        "tvs",
        "",
    ),
    (r"zener", "zener", ""),
    (r"light[- ]emitting|\bLED\b", "led", ""),
    (r"schottky", "diode", "schottky"),
    (r"\b(?:rectifier|switching|signal) diode|\bdiode\b", "diode", ""),
    (r"\b(?:poly)?fuse\b|resettable fuse", "fuse", ""),
    (r"current[- ]sens(?:e|ing) resistor|shunt resistor", "resistor", "shunt"),
    (r"\bthermistor\b", "resistor", "thermistor"),
    (r"\bresistor (?:network|array|pack)", "resistor", "network"),
    (r"\binductor\b|power choke", "inductor", ""),
    (r"\btransformer\b", "transformer", ""),
    (r"\brelay\b", "relay", ""),
    (r"\b(?:tactile|push ?button|slide|toggle) switch", "switch", ""),
    (
        r"\bconnector\b|\breceptacle\b|\bheader\b|terminal block|\bjack\b",
        "connector",
        "",
    ),
    (r"net tie", "jumper", "net tie"),
)

#: Words for kinds that people write in a table, beside those of the contract.
STATED_WORDS: dict[str, tuple[str, str]] = {
    "r": ("resistor", ""),
    "res": ("resistor", ""),
    "shunt": ("resistor", "shunt"),
    "c": ("capacitor", ""),
    "cap": ("capacitor", ""),
    "l": ("inductor", ""),
    "coil": ("inductor", ""),
    "choke": ("inductor", ""),
    "ferrite": ("bead", ""),
    "ferrite bead": ("bead", ""),
    "schottky": ("diode", "schottky"),
    "fet": ("mosfet", ""),
    "nmos": ("mosfet", "n-channel"),
    "nfet": ("mosfet", "n-channel"),
    "n-channel": ("mosfet", "n-channel"),
    "n-mosfet": ("mosfet", "n-channel"),
    "pmos": ("mosfet", "p-channel"),
    "pfet": ("mosfet", "p-channel"),
    "p-channel": ("mosfet", "p-channel"),
    "p-mosfet": ("mosfet", "p-channel"),
    "npn": ("bipolar", "npn"),
    "pnp": ("bipolar", "pnp"),
    "bjt": ("bipolar", ""),
    "ic": ("chip", ""),
    "u": ("chip", ""),
    "net tie": ("jumper", "net tie"),
    "xtal": ("crystal", ""),
    "test point": ("testpoint", ""),
}

#: Polarity of a transistor, from symbol, description or value.
POLARITY: tuple[Rule, ...] = rules(
    (
        r"(?:^|[^A-Z])(?:NMOS|N-?MOSFET|N-?FET|N-?CH(?:AN)?(?:NEL)?)(?:[^A-Z]|$)",
        "mosfet",
        "n-channel",
    ),
    (
        r"(?:^|[^A-Z])(?:PMOS|P-?MOSFET|P-?FET|P-?CH(?:AN)?(?:NEL)?)(?:[^A-Z]|$)",
        "mosfet",
        "p-channel",
    ),
    (r"(?:^|[^A-Z])\d?NPN(?:[^A-Z]|$)", "bipolar", "npn"),
    (r"(?:^|[^A-Z])\d?PNP(?:[^A-Z]|$)", "bipolar", "pnp"),
)
