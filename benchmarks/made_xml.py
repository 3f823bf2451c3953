"""Generated XML files: EAGLE schematics and IPC-2581."""

from collections.abc import Callable

__all__ = ["eagle", "ipc_2581"]

_COLUMNS = 200


def eagle(count: int) -> tuple[str, Callable[[int], str], str]:
    """Return head, text of block n, and tail of an EAGLE schematic."""
    head = """<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE eagle SYSTEM "eagle.dtd">
<eagle version="9.6.2"><drawing><schematic><libraries><library name="l">
<packages><package name="P"><smd name="1" x="0" y="0" dx="1" dy="1" layer="1"/>
<smd name="2" x="2" y="0" dx="1" dy="1" layer="1"/></package></packages>
<symbols><symbol name="R"><pin name="1" x="-5" y="0"/><pin name="2" x="5" y="0"/>
</symbol></symbols><devicesets><deviceset name="R" prefix="R" uservalue="yes">
<gates><gate name="G$1" symbol="R" x="0" y="0"/></gates><devices>
<device name="" package="P"><connects><connect gate="G$1" pin="1" pad="1"/>
<connect gate="G$1" pin="2" pad="2"/></connects><technologies>
<technology name=""/></technologies></device></devices></deviceset></devicesets>
</library></libraries><parts>
"""

    def block(n: int) -> str:
        if n < count:
            return "".join(
                f'<part name="{kind}{n}" library="l" deviceset="R" device="" '
                'value="10k"/>\n'
                for kind in "RC"
            )
        head = "</parts><sheets><sheet><instances>\n" if n == count else ""
        if n < 2 * count:
            return head + "".join(
                f'<instance part="{kind}{n - count}" gate="G$1" x="{n}" y="0"/>\n'
                for kind in "RC"
            )
        head = "</instances><nets>\n" if n == 2 * count else ""
        k = n - 2 * count
        ends = [("R", k, 1), ("C", k, 1)] + ([("R", k - 1, 2)] if k else [])
        text = "".join(
            f'<pinref part="{kind}{place}" gate="G$1" pin="{pin}"/>\n'
            f'<wire x1="{place}" y1="0" x2="{place}" y2="5" width="0.1" layer="91"/>\n'
            for kind, place, pin in ends
        )
        return f'{head}<net name="N{k}" class="0"><segment>\n{text}</segment></net>\n'

    tail = "</nets></sheet></sheets></schematic></drawing></eagle>\n"
    return head, block, tail


def ipc_2581(count: int) -> tuple[str, Callable[[int], str], str]:
    """Return head, text of block n, and tail of an IPC-2581 file."""
    head = """<?xml version="1.0" encoding="UTF-8"?>
<IPC-2581 revision="C" xmlns="http://webstds.ipc.org/2581">
<Content roleRef="Owner"><StepRef name="s"/></Content>
<Ecad name="e"><CadHeader units="MILLIMETER"/><CadData>
<Layer name="TOP" layerFunction="CONDUCTOR" side="TOP"/>
<Step name="s"><Package name="P"><Pin number="1" type="SURFACE"><Location x="-1" y="0"/>
</Pin><Pin number="2" type="SURFACE"><Location x="1" y="0"/></Pin></Package>
"""

    def block(n: int) -> str:
        if n < count:
            return "".join(
                f'<Component refDes="{kind}{n}" packageRef="P" part="X" '
                f'layerRef="TOP" mountType="SMT">\n<Location x="{n % _COLUMNS}" '
                f'y="{n // _COLUMNS}"/></Component>\n'
                for kind in "RC"
            )
        k = n - count
        ends = [("R", k, 1), ("C", k, 1)] + ([("R", k - 1, 2)] if k else [])
        text = "".join(
            f'<PinRef componentRef="{kind}{place}" pin="{pin}"/>\n'
            for kind, place, pin in ends
        )
        return f'<LogicalNet name="N{k}">\n{text}</LogicalNet>\n'

    return head, block, "</Step></CadData></Ecad></IPC-2581>\n"
