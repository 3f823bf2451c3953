"""KiCad netlists gone bad: one line each, in bounded time."""

import pytest
from _kicad_netlist_texts import OLD, RICH, as_brackets, error

# Bad netlists -----------------------------------------------------------------

HEAD = '<export version="E"><components/>\n<nets>\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            HEAD + '<net name="A"><node ref="R1" pin="1"/></net>\n'
            '<net name="B">\n<node ref="R1" pin="1"/></net></nets></export>',
            "FILE:5: found pin R1.1 in net 'B', but it is in net 'A' since line 3",
        ),
        (
            '(export (version "E") (components)\n(nets (net (code 1) (name A)\n'
            "(node (ref R1) (pin 1)))\n(net (code 2) (name B)\n(node (ref R1)\n"
            "(pin 1)))))",
            "FILE:5: found pin R1.1 in net 'B', but it is in net 'A' since line 3",
        ),
        (
            HEAD + '<net name="A"><node ref="R1"/></net></nets></export>',
            "FILE:3: found a node without a pin in net 'A'",
        ),
        (
            HEAD + '<net name="A"><node pin="1"/></net></nets></export>',
            "FILE:3: found a node without a ref in net 'A'",
        ),
        (
            '<export version="E"><nets/><components>\n<comp ref="R1"/>\n'
            '<comp ref="R1"/></components></export>',
            "FILE:3: found R1 again, first in line 2",
        ),
        (
            '<export version="E"><nets/><components>\n<comp/></components></export>',
            "FILE:2: found a part without a ref",
        ),
        (
            '<export version="E"><components/></export>',
            "FILE: found no section 'nets', expected one",
        ),
        (
            '<export version="E"><nets/></export>',
            "FILE: found no section 'components', expected one",
        ),
        (
            '<export version="E"><nets/><nets/></export>',
            "FILE: found a second section 'nets'",
        ),
        (HEAD, "FILE:3: found end of file, expected </nets> for line 2"),
        ("<!-- no root -->", "FILE:1: found end of file"),
        (
            "<kicad><export/></kicad>",
            "FILE:1: found <kicad>, expected <export>",
        ),
        (
            HEAD + "<net name='A'><node ref='R&x;'/></net></nets></export>",
            "FILE:3: found undefined entity, expected </net> for line 3",
        ),
        (
            '<?xml version="1.0" encoding="klingon"?><export version="E"/>',
            "FILE:1: found unknown encoding: klingon",
        ),
        (
            b'<export version="E"><components>\n\xff\xfe\0</components></export>',
            "FILE:2: found not well-formed (invalid token), expected </components> "
            "for line 1",
        ),
        ("<" + "a" * 99, "FILE:1: found end of file inside a tag"),
        (
            "(export (version D)",
            "FILE:1: found end of file, expected ')' for the '(' of line 1",
        ),
        (
            "(export (version D) (components) (nets)))",
            "FILE:1: found ')', expected end of file",
        ),
        ("(kicad_sch (version 1))", "FILE:1: found '(kicad_sch', expected '(export'"),
        ("()", "FILE:1: found '(', expected '(export'"),
        ("((()))", "FILE:1: found '(', expected '(export'"),
        (
            "(export (components) (nets (net (name A)\n(node (ref) (pin 1)))))",
            "FILE:2: found a node without a ref in net 'A'",
        ),
        # A page break and other control characters end no line (POSIX 3.206).
        (
            OLD.replace("(\n", "(\n# page 1\f# page 2\x1c\n", 1).replace(
                "( 2 GND )", "2 GND"
            ),
            "FILE:10: found '2 GND', expected '( pin net )' or ')' for J1 of line 8",
        ),
    ],
)
def test_one_line_says_what_is_wrong(tmp_path, text, message):
    assert error(tmp_path, text) == message


def test_a_billion_laughs(tmp_path):
    entities = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    text = (
        f'<?xml version="1.0"?>\n<!DOCTYPE export [<!ENTITY l0 "lol">{entities}]>\n'
        '<export version="E"><components/><nets>&l9;</nets></export>'
    )
    assert error(tmp_path, text) == (
        "FILE:2: found a DOCTYPE, expected none: netlists have no use for one"
    )


@pytest.mark.parametrize("form", ["net", "xml", "old"])
def test_every_truncation_is_one_line(tmp_path, form):
    """Nothing half-loaded: each shorter copy is an error, never a smaller board."""
    text = {"net": as_brackets(RICH), "xml": RICH, "old": OLD.split("*")[0]}[
        form
    ].strip()
    ends = range(1, len(text), 7)
    for end in ends:
        assert error(tmp_path, text[:end]).startswith("FILE:")


def test_100_mb_of_elements_are_refused(tmp_path):
    deep = error(tmp_path, b'<export version="E">' + b"<a>" * 33_000_000)
    assert deep == "FILE:1: found elements nested deeper than 32"
    many = error(tmp_path, b'<export version="E">' + b"<a/>" * 25_000_000)
    assert many == "FILE:1: found more than 8000000 elements"
