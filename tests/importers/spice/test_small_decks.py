"""Rules of SPICE3 and ngspice, on decks small enough to check by eye.

What ngspice does was tried with version 39; the rest is in its manual.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.importers import ImporterError, load
from ohmtrail.importers.spice._expression import evaluate
from ohmtrail.importers.spice._numbers import board_value, spice_number
from ohmtrail.netanalysis.recognise.kinds import part_kind
from ohmtrail.netanalysis.values import parse_value


@pytest.fixture
def read(tmp_path):
    def read(text, name="deck.cir"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8", newline="")
        return load(path, "spice")

    return read


@pytest.fixture
def refused(read):
    def refused(text):
        with pytest.raises(ImporterError) as caught:
            read(text)
        assert "\n" not in str(caught.value)
        return str(caught.value).partition("deck.cir:")[2]

    return refused


def pins(board):
    return {pin.key: pin.net for part in board.parts for pin in part.pins}


def values(board):
    return {part.ref: part.value for part in board.parts}


# Lines ------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_the_first_line_is_a_title_whatever_it_says(read, end):
    board = read("R9 a 0 1\nR1 a 0 2\n".replace("\n", end))
    assert values(board) == {"R1": "2R"}


def test_comments_and_continuations(read):
    board = read(
        "t\n* R2 a 0 1\n  R1 a ; R3 b 0 1\n\n*between\n+ 0 $ cents\n+ 5 // and so on\n"
        "# R4 a 0 1\nR5 a$b 0 7\n"
    )
    assert values(board) == {"R1": "5R", "R5": "7R"}
    assert pins(board)["R5.1"] == "a$b"


def test_what_follows_the_end_is_counted_only(read):
    board = read("t\nR1 a 0 1\n.END\nR2 a 0 1\n* nothing\n")
    assert list(values(board)) == ["R1"]
    assert [(u.what, u.count) for u in board.unused] == [("line after .end", 1)]


def test_control_blocks_hold_no_devices(read):
    board = read("t\nR1 a 0 1\n.control\nrun\nlet x = 1\nR2 a 0 1\n.endc\nR3 a 0 1\n")
    assert list(values(board)) == ["R1", "R3"]


def test_case_does_not_count_and_the_first_spelling_stays(read):
    board = read("t\nR1 VOut 0 1\nr2 vout gnd 1\nR3 VOUT GND 1\n")
    assert {net.name: len(net.pins) for net in board.nets} == {"VOut": 3, "GND": 3}


# Values -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "number", "shown"),
    [
        ("1M", 1e-3, "1m"),
        ("1m", 1e-3, "1m"),
        ("1MEG", 1e6, "1M"),
        ("1MegOhm", 1e6, "1M"),
        ("2.2MIL", 55.88e-6, "55.88u"),
        ("10K", 1e4, "10k"),
        ("104", 104.0, "104R"),
        ("1e3ohm", 1e3, "1k"),
        ("4k7", 4700.0, "4.7k"),
        ("0", 0.0, "0R"),
        ("0.05", 0.05, "50m"),
        ("2G", 2e9, "2G"),
        ("1T", 1e12, "1000G"),
    ],
)
def test_resistors(read, text, number, shown):
    """Suffixes: ngspice manual 2.1.3; 4k7 as people mean it."""
    board = read(f"t\nR1 a 0 {text}\n")
    assert values(board) == {"R1": shown}
    assert parse_value(shown, "resistor").ohms == pytest.approx(number, rel=1e-9)


@pytest.mark.parametrize(
    ("line", "kind", "number"),
    [
        ("C1 a 0 1u", "capacitor", 1e-6),
        ("C1 a 0 100pF IC=0", "capacitor", 1e-10),
        ("C1 a 0 C={2*1n}", "capacitor", 2e-9),
        ("C1 a 0 1F", "capacitor", 1e-15),  # femto: not a farad
        ("L1 a 0 10uH", "inductor", 1e-5),
        ("L1 a 0 1", "inductor", 1.0),
    ],
)
def test_capacitors_and_coils(read, line, kind, number):
    [part] = read(f"t\n{line}\n").parts
    value = parse_value(part.value, kind)
    assert (value.farads or value.henries) == pytest.approx(number, rel=1e-9)
    assert part_kind(part).kind == kind


@given(st.floats(1e-9, 1e12), st.sampled_from("RFH"))
@settings(max_examples=300, deadline=None)
def test_a_value_is_read_back_as_the_same_number(number, unit):
    kind = {"R": "resistor", "F": "capacitor", "H": "inductor"}[unit]
    low = {"R": 1e-9, "F": 1e-16, "H": 1e-13}[unit]
    number = max(low, number if unit == "R" else number * 1e-9)
    value = parse_value(board_value(number, unit), kind)
    assert value.ambiguous == ""
    found = {"R": value.ohms, "F": value.farads, "H": value.henries}[unit]
    assert found == pytest.approx(number, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("{1+2*3}", 7.0),
        ("'(1+2)*3'", 9.0),
        ("2**3**0", 2.0),
        ("-2^2", -4.0),
        ("2*-3", -6.0),
        ("10k/2", 5000.0),
        ("max(1, min(5, 3))", 3.0),
        ("x > 1 ? 10 : 20", 10.0),
        ("x<1?1:x<3?2:3", 2.0),
        ("sqrt(x*2)", 2.0),
        ("!(x==2) || x>=2 && 1", 1.0),
        ("y", None),
        ("1/0", None),
        ("10**10**10", None),
        ("1 2", None),
        ("(1", None),
        ("max(1)", None),
        ("sqrt", None),
        ("f(1)", None),
        ("__import__('os')", None),
        ("x.__class__", None),
        ("(" * 5000 + "1" + ")" * 5000, None),
        ("(" * 4000 + "1" + ")" * 4000, 1.0),
    ],
)
def test_expressions(text, number):
    assert evaluate(text, {"x": 2.0}.get) == number


def test_numbers_that_are_none():
    for text in ("", "a", "+", "1.2.3", "k", "--1", "0x10", "1e999", "1e308k"):
        assert spice_number(text) is None


def test_parameters_reach_into_subcircuits(read):
    board = read(
        "t\n.param top=2k twice={top*2}\n.subckt s a r=1 q={r*10}\nR1 a 0 {r}\n"
        "R2 a 0 {q}\nR3 a 0 {twice}\nR4 a 0 'own'\n.param own={r+1}\n.ends\n"
        "X1 a s\nX2 a s r={top}\nX3 a s PARAMS: r = 5 q=1k\n"
    )
    got = values(board)
    assert [got[f"X1.R{n}"] for n in "1234"] == ["1R", "10R", "4k", "2R"]
    assert [got[f"X2.R{n}"] for n in "1234"] == ["2k", "20k", "4k", "2.001k"]
    assert [got[f"X3.R{n}"] for n in "12"] == ["5R", "1k"]


def test_a_parameter_of_itself_leaves_the_text_and_says_so(read):
    board = read("t\n.param a={b} b={a}\nR1 x 0 {a}\n")
    assert values(board) == {"R1": "{a}"}
    assert ["value that cannot be worked out"] == [u.what for u in board.unused]


# Devices ----------------------------------------------------------------------

MODELS = (
    ".model nn nmos\n.model pp PMOS(vto=1)\n.model vn VDMOS(nchan)\n"
    ".model vp VDMOS(Vto=1 pchan)\n.model bn npn\n.model bp pnp\n.model dd D\n"
)


@pytest.mark.parametrize(
    ("line", "kind", "sort", "nets"),
    [
        ("M1 d g s b nn w=1", "mosfet", "n-channel", "D=d G=g S=s B=b"),
        ("M1 d g s 0 pp", "mosfet", "p-channel", "D=d G=g S=s B=GND"),
        ("M1 d g s vn", "mosfet", "n-channel", "D=d G=g S=s"),
        ("M1 d g s vp m=1", "mosfet", "p-channel", "D=d G=g S=s"),
        ("M1 d g s b NoSuch", "mosfet", "", "D=d G=g S=s B=b"),
        ("M1 (d g s b) nn", "mosfet", "n-channel", "D=d G=g S=s B=b"),
        ("Q1 c b e bn", "bipolar", "npn", "C=c B=b E=e"),
        ("Q1 c b e s bp 2 off", "bipolar", "pnp", "C=c B=b E=e SUB=s"),
        ("Q1 c b e NoSuch 2", "bipolar", "", "C=c B=b E=e"),
        ("D1 a k dd", "diode", "", "A=a K=k"),
        ("V1 p n DC 5", "other", "", "+=p -=n"),
        ("E1 o 0 p n 10", "other", "", "+=o -=GND C+=p C-=n"),
        (
            "E1 o 0 POLY(2) p n q 0 0 1 1",
            "other",
            "",
            "+=o -=GND C1=p C2=n C3=q C4=GND",
        ),
        ("E1 o 0 value={v(a)}", "other", "", "+=o -=GND"),
        ("B1 o 0 V=V(a)*2", "other", "", "+=o -=GND"),
        ("S1 a b p n sw", "other", "", "1=a 2=b C+=p C-=n"),
        ("A1 [a b] ~c %vd(d null) am", "other", "", "1=a 2=b 3=c 4=d 5=None"),
        ("X1 a b c missing x=1", "other", "", "1=a 2=b 3=c"),
    ],
)
def test_nodes_and_kinds_by_letter(read, line, kind, sort, nets):
    """Order of nodes: ngspice manual, the chapter of each device."""
    [part] = read(f"t\n{line}\n{MODELS}").parts
    found = part_kind(part)
    assert (found.kind, found.sort) == (kind, sort)
    assert " ".join(f"{p.number}={p.net}" for p in part.pins) == nets


def test_m_gives_parts_in_parallel(read):
    board = read(
        f"t\n{MODELS}.param n=2\n.subckt s d g\nM1 d g 0 0 nn m={{n}}\n.ends\n"
        "M1 sw g 0 0 nn m=3\nXa sw g s m=2\nR1 sw 0 1 m=0.5\nR2 sw 0 1 m=1e999\n"
    )
    assert list(values(board)) == [
        *("M1", "M1#2", "M1#3"),
        *("Xa.M1", "Xa.M1#2", "Xa#2.M1", "Xa#2.M1#2"),
        *("R1", "R2"),
    ]
    assert {net for key, net in pins(board).items() if key.endswith(".D")} == {"sw"}
    assert [u.what for u in board.unused] == [
        "m=0.5, kept as one part",
        "m=1e999, kept as one part",
    ]


def test_two_switches_of_one_subcircuit_are_a_parallel_set(tmp_path):
    """The check of two transistors in a subcircuit with a resistor at each gate."""
    from ohmtrail.netanalysis.recognise import recognise

    path = tmp_path / "boost.cir"
    path.write_text(
        "boost\nXph drv sw ph\nXdrv pwm drv vcc 0 driver\nL1 vin sw 10u\n"
        "D1 sw out dd\nC1 out 0 100u\nC2 vin 0 10u\n.model dd d\n"
        ".subckt ph drv sw\nM1 sw gl1 0 0 irf\nM2 sw gl2 0 0 irf\nRg1 drv gl1 4.7\n"
        "Rg2 drv gl2 4.7\nRpd1 gl1 0 10k\nRpd2 gl2 0 10k\n.ends\n"
        ".model irf VDMOS(Vto=3)\n.end\n"
    )
    circuit = recognise(load(path))
    [fets] = [s for s in circuit.parallel_sets if "Xph.M1" in s.parts]
    assert set(fets.parts) == {"Xph.M1", "Xph.M2"}
    [stage] = circuit.stages
    chains = {chain.switch: chain for chain in stage.gate_chains}
    for n in "12":
        chain = chains[f"Xph.M{n}"]
        assert chain.driver_pin == "Xdrv.2"
        assert chain.series == (f"Xph.Rg{n}",)
        assert chain.pull_down == (f"Xph.Rpd{n}",)


def test_coupled_coils_and_unknown_commands_are_counted(read):
    board = read("t\nL1 a 0 1u\nL2 b 0 1u\nK1 L1 L2 1\n.tran 1 2\n.TRAN 1 2\n")
    assert {(u.what, u.where, u.count) for u in board.unused} == {
        ("coupling of coils (K)", "deck.cir:4", 1),
        ("command .tran", "deck.cir:5", 2),
    }


def test_what_schematic_programs_write_where_they_have_nothing(read):
    board = read(
        "t\nR5 VSS <UNCONNECTED PIN> 5\nR6 a b <No valid value attribute found>\n"
        "CONN1 a b c <No valid value attribute found>\nU1 a 0 b unknown\n"
    )
    found = pins(board)
    assert found["R5.2"] is None
    assert values(board) == {"R5": "5R", "R6": "", "CONN1": "", "U1": ""}
    assert [found[f"CONN1.{n}"] for n in "123"] == ["a", "b", "c"]
    assert [found[f"U1.{n}"] for n in "123"] == ["a", "GND", "b"]


# Subcircuits ------------------------------------------------------------------


def test_nodes_inside_are_local_but_for_ground_and_globals(read):
    board = read(
        "t\n.global vdd\n.subckt s a\nR1 a x 1\nR2 x 0 1\nR3 vdd gnd 1\n.ends\n"
        "X1 n s\nX2 n s\nR1 x n 1\n"
    )
    found = pins(board)
    assert found["X1.R1.1"] == found["X2.R1.1"] == found["R1.2"] == "n"
    assert (found["X1.R1.2"], found["X2.R1.2"], found["R1.1"]) == ("X1.x", "X2.x", "x")
    assert found["X1.R3.1"] == found["X2.R3.1"] == "vdd"
    assert found["X1.R2.2"] == found["X1.R3.2"] == "GND"
    assert board.sheets == ("/", "/X1/", "/X2/")


def test_nested_definitions_hide_outer_ones(read):
    board = read(
        "t\n.subckt in a\nRout a 0 1\n.ends\n.subckt s a\n.subckt in a\nRin a 0 1\n"
        ".ends in\nX1 a in\n.ends s\nX1 a s\nX2 a in\n"
    )
    assert list(values(board)) == ["X1.X1.Rin", "X2.Rout"]


def test_a_name_with_the_path_reaches_the_inner_node(read):
    """As in ngspice, where names are all that nodes are."""
    board = read("t\n.subckt s a\nR1 a x 1\n.ends\nX1 n s\nR2 x1.x 0 1\n")
    assert pins(board)["R2.1"] == pins(board)["X1.R1.2"] == "X1.x"


def test_conditions(read):
    board = read(
        "t\n.param a=2\n.if (a==1)\nR1 a 0 1\n.elseif (a==2)\nR2 a 0 1\n.if (a>5)\n"
        "R3 a 0 1\n.else\nR4 a 0 1\n.endif\n.else\nR5 a 0 1\n.endif\n"
    )
    assert list(values(board)) == ["R2", "R4"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("R1 a\n", "2: found 'R1 a', expected 2 nodes of a resistor"),
        ("R1 a 0 1\nr1 b 0 1\n", "3: found device r1 again"),
        ("M1 d g s\n", "2: found 'M1 d g s', expected 3 nodes and a model"),
        ("U1\n", "2: found 'U1', expected nodes and a model"),
        ("U1 a\n", "2: found 'U1 a', expected nodes and a model"),
        ("X1\n", "2: found 'X1', expected nodes and the name"),
        ("1R a 0 1\n", "2: found '1R a 0 1', expected a device"),
        (".subckt s a\nX1 a s\n.ends\nX1 a s\n", "3: found subcircuit s inside itself"),
        (".subckt s a\n.ends\nX1 a b s\n", "4: found 2 nodes for subcircuit s"),
        (".subckt s a\nR1 a 0 1\n", "2: found end of file, expected .ends"),
        (".subckt s a A\n.ends\n", "2: found a node twice in .subckt s"),
        (".subckt\n", "2: found .subckt, expected a name"),
        (".ends\n", "2: found .ends, expected .subckt"),
        (".endif\n", "2: found .endif, expected .if"),
        (".if (a)\n.endif\n", "2: found condition '(a)'"),
        (".if (1)\n", "2: found end of file, expected .endif"),
        (".model x\n", "2: found '.model x', expected .model with a name"),
        (".include\n", "2: found '.include', expected the name of a file"),
    ],
)
def test_errors_name_line_and_reason(refused, text, message):
    assert refused("t\n" + text).startswith(message)
