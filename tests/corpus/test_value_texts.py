"""Every value text in the corpus is read, or stands in `NOT_READ` with its reason.

``pytest -s`` prints the counts that docs/values.md has.  Diodes and chips are left
out: their text is a part number.
"""

import functools
from collections import Counter, defaultdict

import pytest
from _labels import show
from _oracles import catalogue, corpus, corpus_or_none

from ohmtrail.importers import load
from ohmtrail.netanalysis.recognise.kinds import recognise_kinds
from ohmtrail.netanalysis.values import read_value
from ohmtrail.netanalysis.values._tables import QUANTITY

#: What is no value, and why, by text; "no value" (an empty text) is not listed.
NOT_READ = {
    "no size is drawn": ("C", "R", "_R", "SHUNT", "R_Shunt_US", "Fuse_Holder"),
    "a marked position": ("SHORTT5", "SHORTMEDIUM", "PAD16AWG_PAD", "t.b.d."),
    "a part number": (
        "NXFT15XH103FA2B100",
        "GZ1608D601TF",
        "BLM18PG221SH1D",
        "0ZCH0035FF2G",
        "0ZCJ0075AF2E",
        "784383240047",
        "784383350047",
        "SRN4018-220M",
        "1206L500/12SLPR",
        "1206L150/12SLYR",
    ),
    "a kind of part": (
        "ATO blade fuse",
        "HALF_CHOKE",
        "FB0805",
        "Filter_EMI_CommonMode",
        "Crystal_GND24",
    ),
    "another quantity: cable, switch current, delay line, a slip of the pen": (
        "C_3x2.5mm2",
        "C_3x1.5mm2",
        "C_3x6mm2",
        "R_16A_30mA",
        "50mA",
        "470nS",
        "470ns",
        "22uF",
        "22OnF",
        "4,433618MH",
    ),
    "a formula": ("R='time >13m ? 20 : 60'",),
    "two readings": ("475", "Bead 600", "600R", "0"),
}


@functools.cache
def texts():
    """Return (kind, text) -> number of parts, over every file that loads."""
    counts = Counter()
    paths = [design.root for design in catalogue()]
    for pattern in (
        "boards/*/eagle/*.sch",
        "formats/gschem/**/*.sch",
        "formats/edif/*.edf",
        "formats/ipc2581/*.xml",
        "formats/legacy_demos/**/*.net",
        "formats/spice/**/*.spice",
        "formats/spice/**/*.cir",
    ):
        paths += sorted(corpus().glob(pattern))
    for path in dict.fromkeys(paths):
        if path.is_dir():  # a root that names a folder: its sheets are above
            continue
        board = load(path)
        kinds = recognise_kinds(board)
        for part in board.parts:
            kind = kinds[part.ref].kind
            if kind in QUANTITY:
                counts[kind, part.value] += 1
    return counts


def test_every_text_is_read_or_listed():
    if corpus_or_none() is None:
        corpus()
    listed = {text for group in NOT_READ.values() for text in group}
    missed = []
    rows = defaultdict(Counter)
    for (kind, text), parts in texts().items():
        reading = read_value(text, kind)
        row = rows[kind]
        row["parts"] += parts
        if reading.reason == "no value":
            row["empty"] += parts
        elif not reading.reason:
            row["texts"] += 1
            row["read"] += parts
            row["not fitted"] += parts * reading.value.not_fitted
        else:
            row["texts"] += 1
            row["refused"] += parts
            if text not in listed:
                missed.append(f"{kind} {text!r}: {reading.reason}")
    for kind, row in sorted(rows.items()):
        said = ", ".join(
            f"{name} {row[name]}"
            for name in ("parts", "empty", "texts", "read", "not fitted", "refused")
        )
        show(f"values, {kind}: {said}")
    assert not missed
    refused = {text for kind, text in texts() if read_value(text, kind).reason}
    assert not listed - refused, "listed, and not in the corpus or read by now"


#: A sample read by eye from the drawings (SI units, no other source).
BY_EYE = {
    ("resistor", "R_10k2_0402"): 10200.0,
    ("resistor", "8.06k±1%"): 8060.0,
    ("resistor", "4,7K"): 4700.0,
    ("resistor", "0.5mOhm 1% 2W"): 0.5e-3,
    ("resistor", "47KOHMS"): 47e3,
    ("resistor", "2m"): 2e-3,
    ("capacitor", "C_100n_6V3_0402"): 100e-9,
    ("capacitor", "0.1uF-100V"): 100e-9,
    ("capacitor", "4,7uF"): 4.7e-6,
    ("capacitor", "2.2µF"): 2.2e-6,
    ("capacitor", "15u, 100v"): 15e-6,
    ("bead", "FB_120Z_2A_0603"): 120.0,
    ("bead", "220@100MHz"): 220.0,
    ("inductor", "L_2u2_1.6A_1210"): 2.2e-6,
    ("inductor", "1 uH"): 1e-6,
    ("fuse", "Fuse 30mA"): 0.03,
    ("crystal", "16.000MHz/SMD5x3.2/12pF"): 16e6,
    ("crystal", "ABS25-32.768KHZ-6"): 32768.0,
}


@pytest.mark.parametrize(("kind", "text"), BY_EYE)
def test_texts_of_real_boards(kind, text):
    if corpus_or_none() is not None:
        assert (kind, text) in texts(), "no longer in the corpus"
    value = read_value(text, kind).value
    assert getattr(value, QUANTITY[kind]) == pytest.approx(BY_EYE[kind, text])
