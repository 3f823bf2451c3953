"""Where a legacy schematic and an oracle differ, and why: the drawing was read.

Every other difference is a bug.  Keys are designs of the corpus.
"""

#: Pads of the board file that the schematic cannot have, with the evidence.
PADS_ONLY: dict[str, tuple[set[tuple[str, str]], str]] = {
    "reform1-motherboard": (
        {("R", "1")},
        "a logo footprint with reference R and one pad; no sheet has a part R",
    ),
    "teres-keyboard": (
        {("P1", "0"), ("P2", "0"), ("P3", "0")},
        "the footprints have shield pads numbered 0; the symbols CONN_01X24,"
        " CONN_01X06 and CONN_01X12 have pins 1 to 24, 6 and 12",
    ),
}

#: Designs without any symbol library: no pin can be placed.
NO_LIBRARY: dict[str, str] = {
    "diybms-v421": (
        "the commit has neither -cache.lib nor -rescue.lib, and its library table"
        " names files that are not there; every part is reported as without symbol"
    ),
}

#: Pins that the author's netlist has and the sheets do not.
NETLIST_ONLY: dict[str, tuple[set[tuple[str, str]], str]] = {
    "vesc4": (
        {("X1", "M1"), ("X1", "M2"), ("X1", "M3"), ("X1", "M4")},
        "pins of the connector's second unit, which no sheet places; the netlist"
        " lists them with the part and in no net",
    ),
}

#: Designs whose committed netlist is of another revision than the sheets.
OUTDATED_NETLIST: dict[str, str] = {
    "cheap-focer-2": "its netlist is vesc4's of 2016; 190 pins have other refs",
    "reform2-trackball": (
        "netlist of May 2020; the sheet has F1, FB1, D6 and U3 more (12 pins), which"
        " stand between J1 and what the netlist joins to J1; the board's pads agree"
        " with the sheet"
    ),
}

#: Nets of these are named by a program before KiCad 4 or after 5: (how, evidence).
OTHER_NAMES: dict[str, str] = {
    "video": "netlist of 2008: nets without label are N-000001, another label wins",
    "pic_programmer": "netlist of 2007: labels get the sheet's number, CTS_1",
    "flat_hierarchy": "netlist of 2008: nets without label are N-000001",
    "complex_hierarchy": "netlist of KiCad 6: Net-(D2-K), named by the pin's name",
}
