"""Decks that are damaged, huge or made to hang a reader; and the law of flattening."""

import random

import pytest
from _operations import operations
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.importers import ImporterError, load


def pins(board):
    return {pin.key: pin.net for part in board.parts for pin in part.pins}


def bomb(levels, width):
    text = "t\n.subckt s0 a\nR1 a 0 1\n.ends\n"
    for n in range(1, levels):
        inner = "".join(f"X{k} a s{n - 1}\n" for k in range(width))
        text += f".subckt s{n} a\n{inner}.ends\n"
    return text + f"X1 a s{levels - 1}\n"


CHAIN = 20_000
HOSTILE = {
    "bomb": bomb(40, 2),
    "empty bomb": bomb(40, 2).replace("R1 a 0 1\n", ""),
    "deep": bomb(CHAIN, 1),
    "nested definitions": "t\n" + ".subckt s a\n" * CHAIN,
    "nested conditions": "t\n" + ".if 1\n" * CHAIN,
    "chain of parameters": "t\n.param p0=1\n"
    + "".join(f".param p{n}={{p{n - 1}+1}}\n" for n in range(1, CHAIN))
    + f"R1 a 0 {{p{CHAIN - 1}}}\n",
    "one long line": "t\nR1 a 0 {" + "1+" * 200_000 + "1}\n",
    "brackets": "t\nR1 a 0 {" + "(" * 200_000 + "\n",
    "braces": "t\nR1 a 0 " + "{" * 200_000 + "\n",
    "quotes": "t\nR1 a 0 " + "'<" * 100_000 + "\n",
    "equals": "t\nR1 a 0 " + "a=" * 100_000 + "\n.param " + "a=" * 100_000 + "\n",
    "continuations": "t\nR1 a 0 1\n" + "+ x\n" * 200_000,
    "a node without end": "t\nX1 " + "a " * 5_000_000 + "s\n",
    "many long lines": "t\n" + "".join(f"X{n} {'a ' * 400_000}s\n" for n in range(10)),
    "long names": "t\n.subckt s a\n"
    + "".join(f"R{n} a x{n} 1\n" for n in range(3000))
    + f".ends\nX{'y' * 200_000} a s\n",
    "m": "t\n.subckt a x\nR1 x 0 1 m=64\n.ends\n.subckt b x\nX1 x a m=64\n.ends\n"
    ".subckt c x\nX1 x b m=64\n.ends\nX1 x c m=64\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_decks_end(name, tmp_path):
    path = tmp_path / "deck.cir"
    path.write_text(HOSTILE[name])
    refused = ""
    try:
        load(path, "spice")
    except ImporterError as error:
        refused = str(error)
    assert refused.isprintable()


def test_work_grows_with_size_alone(tmp_path):
    def work(count):
        path = tmp_path / f"{count}.cir"
        lines = (f"R{n} n{n} n{n // 2} {n}k tc=1 ; x\n" for n in range(count))
        path.write_text("t\n.param a=1\n" + "".join(lines))

        def run():
            assert load(path).pin_count == 2 * count

        return operations(run)

    assert work(2000) < 5 * work(500)


SOUND = """title
.param a=2 b={a*2}
.subckt s x y r=1
.model nn nmos(level=1)
M1 x y 0 0 nn w=1u m={a}
R1 x n {r*b}
.ends s
Xph p q s r = 5
.if (a > 1)
E1 o 0 poly(1) p q 0 1
.else
Q1 c b e nosuch
.endif
A1 [p q] %vd(o c) am
V1 p 0 sin(0 1 1k)
.end
"""


def test_damage_is_one_line_and_never_a_traceback(tmp_path):
    chance = random.Random(7)
    words = [
        *"(){}'\"=<>$;+*.0,~[]%#",
        "\n+",
        "\n.",
        "\n",
        "\0",
        "\xff",
        ".ends\n",
        "1e999",
    ]
    path = tmp_path / "deck.cir"
    refused = []
    for _ in range(1500):
        data = bytearray(SOUND.encode())
        for _ in range(chance.choice([1, 1, 2, 5])):
            at = chance.randrange(len(data))
            if chance.random() < 0.4:
                del data[at : at + chance.choice([1, 1, 5, 40])]
            elif chance.random() < 0.6:
                data[at:at] = chance.choice(words).encode("latin-1")
            else:
                start = chance.randrange(len(data))
                data[at:at] = data[start : start + 40]
        path.write_bytes(bytes(data) or b" ")
        for format in "spice", None:
            try:
                load(path, format)
            except ImporterError as error:
                refused.append(str(error))
    assert len(refused) > 300
    assert all(text.isprintable() for text in refused)


WORD = st.from_regex(r"[A-Za-z0-9_+/.#-]{1,6}", fullmatch=True).filter(
    lambda w: w.casefold() not in ("0", "gnd") and "//" not in w
)


@given(
    nets=st.lists(WORD, min_size=1, max_size=4, unique_by=str.casefold),
    data=st.data(),
)
@settings(max_examples=80, deadline=None)
def test_flattening_is_the_same_as_writing_it_flat(nets, data, tmp_path_factory):
    """A subcircuit of resistors, put in twice, against the same written out."""
    nodes = st.sampled_from([*"abxy", "0"])
    inner = data.draw(st.lists(st.tuples(nodes, nodes), min_size=1, max_size=5))
    calls = data.draw(
        st.lists(
            st.tuples(*[st.sampled_from([*nets, "0"])] * 2), min_size=1, max_size=3
        )
    )
    deep = "t\n.subckt s a b\n"
    deep += "".join(f"R{k} {p} {q} 1\n" for k, (p, q) in enumerate(inner)) + ".ends\n"
    deep += "".join(f"X{k} {p} {q} s\n" for k, (p, q) in enumerate(calls))
    wanted = {}
    for c, (p, q) in enumerate(calls):
        for k, ends in enumerate(inner):
            for pin, node in zip("12", ends, strict=True):
                net = {"a": p, "b": q, "0": "0"}.get(node, f"X{c}.{node}")
                wanted[f"X{c}.R{k}.{pin}"] = "GND" if net == "0" else net
    path = tmp_path_factory.mktemp("law") / "deck.cir"
    path.write_text(deep)
    assert pins(load(path, "spice")) == wanted
