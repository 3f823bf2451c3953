"""Whether a text looks like a SPICE deck, which has no mark of its own."""

import re

__all__ = ["sniff"]

_OTHER = re.compile(rb"[\[({<!]|v \d{8}\b|v \{xschem|START header|EESchema|tEDAx", re.I)
_TABLE = re.compile(rb"[^\t]*\b(?:ref(?:des)?|reference|designator)\b[^\n]*\t", re.I)
_DOT = re.compile(
    rb"\.(?:subckt|ends|end|eom|macro|model|inc(?:lude)?|lib|endl|params?|csparam|"
    rb"tran|ac|dc|op|options?|control|endc|title|global|save|probe|print|plot|ic|"
    rb"nodeset|temp|four|noise|tf|meas(?:ure)?|func|width|if|elseif|else|endif|"
    rb"sens|disto|pz)\b",
    re.I,
)
_DEVICE = re.compile(rb"[A-Za-z]\S*[ \t]+\S+[ \t]+\S")
_TYPICAL = re.compile(
    rb"[RCLVI]\S*[ \t]+\S+[ \t]+\S+[ \t]+(?:dc[ \t]+)?['{]?\d*\.?\d|"
    rb"M\S*(?:[ \t]+\S+){4,}[ \t]+[mwl][ \t]*=[ \t]*['{]?\d",
    re.I,
)
_DRAWN = re.compile(
    rb"\*+ *\.(?:[io]+pin|subckt)\b|\*\*\*\* begin user architecture|\* .*spice", re.I
)


def sniff(head: bytes) -> bool:
    r"""Say whether every line is one that a deck can have, and one is typical.

    The first line is the title and may say anything, lines of ``.control`` blocks
    too.  Typical are dot commands, two-terminal devices with a number and transistors
    with a size; a deck of comments alone must say what wrote it.

    Examples
    --------
    >>> sniff(b"divider\nR1 in out 10k\nR2 out 0 10k\n")
    True
    >>> sniff(b"ref\tpin\tnet\nR1\t1\tVIN\n")
    False
    """
    if b"\0" in head:
        return False
    lines = head.removeprefix(b"\xef\xbb\xbf").replace(b"\r", b"\n").split(b"\n")
    if len(head) >= 4096 and len(lines) > 1:
        lines.pop()  # cut in the middle, most likely
    if _OTHER.match(lines[0].lstrip() or b"*") or _TABLE.match(lines[0]):
        return False
    typical = comments = drawn = others = 0
    control = False
    for number, line in enumerate(lines):
        line = line.strip()
        if not line:
            continue
        begin = line[:1]
        if control:
            control = not line.lower().startswith(b".endc")
        elif begin in b"*":
            comments += 1
            drawn += bool(_DRAWN.match(line))
        elif begin in b"+;$#" or line.startswith(b"//"):
            continue
        elif begin == b".":
            if _DOT.match(line):
                typical += 1
                control = line.lower().startswith(b".control")
            elif number:
                return False
        elif number:
            if _TYPICAL.match(line):
                typical += 1
            elif _DEVICE.match(line) is None:
                return False
            others += 1
    return typical > 0 or (others == 0 and comments > 0 and drawn > 0)
