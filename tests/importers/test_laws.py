"""Laws that every reader of nets obeys, on boards that chance makes."""

import random
from xml.sax.saxutils import quoteattr

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ohmtrail.importers import ImporterError, load

WORD = st.text(
    st.characters(min_codepoint=33, max_codepoint=0x2FF, exclude_categories=["C", "Z"]),
    min_size=1,
    max_size=8,
).filter(lambda w: w[0] not in "#~")
REF = st.from_regex(r"[A-Z]{1,3}[0-9]{1,4}", fullmatch=True)
PIN = st.from_regex(r"[A-Z]{0,2}[0-9]{1,3}", fullmatch=True)

#: ref -> (value, pin -> net or None), each with one pin at least.
BOARD = st.dictionaries(
    REF,
    st.tuples(WORD, st.dictionaries(PIN, st.none() | WORD, min_size=1, max_size=5)),
    min_size=1,
    max_size=6,
)


def nets_of(parts):
    nets = {}
    for ref, (_, pins) in parts.items():
        for pin, net in pins.items():
            if net is not None:
                nets.setdefault(net, []).append((ref, pin))
    return nets


def as_xml(parts):
    comps = libparts = nets = ""
    for ref, (value, pins) in parts.items():
        text = quoteattr(value)[1:-1] if "<" in value or "&" in value else value
        comps += (
            f'<comp ref="{ref}"><value>{text}</value>'
            f'<libsource lib="l" part="{ref}"/></comp>'
        )
        inner = "".join(f'<pin num="{pin}" name="~" type="passive"/>' for pin in pins)
        libparts += f'<libpart lib="l" part="{ref}"><pins>{inner}</pins></libpart>'
    for n, (net, nodes) in enumerate(nets_of(parts).items()):
        inner = "".join(f'<node ref="{ref}" pin="{pin}"/>' for ref, pin in nodes)
        nets += f'<net code="{n}" name={quoteattr(net)}>{inner}</net>'
    return (
        f'<export version="E"><components>{comps}</components>'
        f"<libparts>{libparts}</libparts><nets>{nets}</nets></export>"
    )


def quoted(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def as_brackets(parts):
    comps = libparts = nets = ""
    for ref, (value, pins) in parts.items():
        comps += f"(comp (ref {ref}) (value {quoted(value)})"
        comps += f"(libsource (lib l) (part {ref})))\n"
        inner = "".join(f"(pin (num {pin}) (name ~) (type passive))" for pin in pins)
        libparts += f"(libpart (lib l) (part {ref}) (pins {inner}))\n"
    for n, (net, nodes) in enumerate(nets_of(parts).items()):
        inner = "".join(f"(node (ref {ref}) (pin {pin}))" for ref, pin in nodes)
        nets += f"(net (code {n}) (name {quoted(net)}) {inner})\n"
    return (
        f"(export (version E) (components {comps}) (libparts {libparts}) (nets {nets}))"
    )


def as_table(parts):
    def cell(text):
        return '"' + text.replace('"', '""') + '"'

    rows = ["ref,pin,net,value"]
    for ref, (value, pins) in parts.items():
        rows += [
            f"{ref},{pin},{cell(net or '')},{cell(value)}" for pin, net in pins.items()
        ]
    return "\n".join(rows)


FORMS = {"xml": as_xml, "brackets": as_brackets, "table": as_table}


@pytest.mark.parametrize("form", FORMS)
@given(parts=BOARD)
@settings(max_examples=60, deadline=None)
def test_nothing_is_lost_or_joined(form, parts, tmp_path_factory):
    path = tmp_path_factory.mktemp("law") / "board"
    path.write_text(FORMS[form](parts), encoding="utf-8", newline="")
    board = load(path)
    read = {
        part.ref: (part.value, {pin.number: pin.net for pin in part.pins})
        for part in board.parts
    }
    assert read == parts
    # Each pin of a net is the part's own pin, and stands in that net alone.
    listed = [pin for net in board.nets for pin in net.pins]
    assert len(listed) == len({pin.key for pin in listed})
    for net in board.nets:
        for pin in net.pins:
            assert pin is board.part_by_ref[pin.ref].pin(pin.number)
            assert pin.net == net.name


SAMPLE = {
    "R1": ("10k", {"1": "VIN", "2": "GH"}),
    "Q1": ("N-FET", {"1": "SW", "4": "GH", "5": "VIN"}),
    "U1": ("driver", {"7": "VIN", "8": None}),
}
JUNK = [*b'()"<>&,;\\/#\t\r\n\0\x85\xff', *"\u2028é".encode()]


@pytest.mark.parametrize("form", FORMS)
def test_damage_is_one_line_and_never_a_traceback(form, tmp_path):
    chance = random.Random(form)
    path = tmp_path / "damaged"
    sound = FORMS[form](SAMPLE).encode()
    refused = []
    for _ in range(400):
        data = bytearray(sound)
        for _ in range(chance.choice([1, 1, 2, 5])):
            at = chance.randrange(len(data))
            size = chance.choice([1, 1, 3, 30])
            if chance.random() < 0.4:
                del data[at : at + size]
            elif chance.random() < 0.5:
                data[at:at] = bytes(chance.choices(JUNK, k=size))
            else:
                start = chance.randrange(len(data))
                data[at:at] = data[start : start + size]
            data = data or bytearray(b" ")
        path.write_bytes(data)
        for format in "pin_table" if form == "table" else "kicad_netlist", None:
            try:
                load(path, format)
            except ImporterError as error:
                refused.append(str(error))
    assert len(refused) > 100
    assert all(text.isprintable() for text in refused)
