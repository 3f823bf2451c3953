"""KiCad netlists for the tests: a documented sample and a rich one."""

import pytest

from ohmtrail.importers import ParseError, load

# After the sample of KiCad's documentation (Schematic Editor, "Intermediate
# netlist"): 5 parts and 20 nodes; two nets have the empty name.
SAMPLE = """\
<?xml version="1.0" encoding="utf-8"?>
<export version="D">
  <design>
    <source>F:\\kicad_aux\\netlist_test\\netlist_test.sch</source>
    <date>29/08/2010 21:07:51</date>
    <tool>eeschema (2010-08-28 BZR 2458)-unstable</tool>
  </design>
  <components>
    <comp ref="P1">
      <value>CONN_4</value>
      <libsource lib="conn" part="CONN_4"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E2141</tstamp>
    </comp>
    <comp ref="U2">
      <value>74LS74</value>
      <libsource lib="74xx" part="74LS74"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E20BA</tstamp>
    </comp>
    <comp ref="U1">
      <value>74LS04</value>
      <libsource lib="74xx" part="74LS04"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E20A6</tstamp>
    </comp>
    <comp ref="C1">
      <value>CP</value>
      <libsource lib="device" part="CP"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E2094</tstamp>
    </comp>
    <comp ref="R1">
      <value>R</value>
      <libsource lib="device" part="R"/>
      <sheetpath names="/" tstamps="/"/>
      <tstamp>4C6E208A</tstamp>
    </comp>
  </components>
  <libparts/>
  <libraries/>
  <nets>
    <net code="1" name="GND">
      <node ref="U1" pin="7"/>
      <node ref="C1" pin="2"/>
      <node ref="U2" pin="7"/>
      <node ref="P1" pin="4"/>
    </net>
    <net code="2" name="VCC">
      <node ref="R1" pin="1"/>
      <node ref="U1" pin="14"/>
      <node ref="U2" pin="4"/>
      <node ref="U2" pin="1"/>
      <node ref="U2" pin="14"/>
      <node ref="P1" pin="1"/>
    </net>
    <net code="3" name="">
      <node ref="U2" pin="6"/>
    </net>
    <net code="4" name="">
      <node ref="U1" pin="2"/>
      <node ref="U2" pin="3"/>
    </net>
    <net code="5" name="/SIG_OUT">
      <node ref="P1" pin="2"/>
      <node ref="U2" pin="5"/>
      <node ref="U2" pin="2"/>
    </net>
    <net code="6" name="/CLOCK_IN">
      <node ref="R1" pin="2"/>
      <node ref="C1" pin="1"/>
      <node ref="U1" pin="1"/>
      <node ref="P1" pin="3"/>
    </net>
  </nets>
</export>
"""


def read(tmp_path, text, name="n.net"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load(path, format="kicad_netlist")


def error(tmp_path, text):
    with pytest.raises(ParseError) as caught:
        read(tmp_path, text)
    message = str(caught.value)
    assert "\n" not in message
    return message.replace(str(tmp_path / "n.net"), "FILE")


def pins(net):
    return {p.key for p in net.pins}


RICH = """\
<export version="E">
  <design><source>/home/x/pump.kicad_sch</source>
    <sheet number="1" name="/" tstamps="/"/>
    <sheet number="2" name="/Core/" tstamps="/1/"/></design>
  <components>
    <comp ref="U1">
      <value>LM5050</value><footprint>SO:SO8</footprint><datasheet>~</datasheet>
      <description>ideal diode driver</description>
      <fields><field name="MPN">XY-1</field><field name="Footprint">SO:SO8</field>
      </fields>
      <libsource lib="Power" part="LM" description="ignored"/>
      <property name="MPN" value="XY-1"/><property name="DNP" value="0"/>
      <property name="ki_keywords" value="diode oring"/>
      <property name="Sheetname" value="Core"/>
      <sheetpath names="/Core/" tstamps="/1/"/>
    </comp>
    <comp ref="R1"><value>~</value><variants/><property name="dnp"/>
      <property name="exclude_from_bom"/></comp>
    <comp ref="H1"><value>hole</value><property name="exclude_from_board"/></comp>
  </components>
  <libparts>
    <libpart lib="Power" part="LM"><pins>
      <pin num="1" name="IN" type="power_in"/><pin num="2" name="~" type="BiDi"/>
      <pin num="3" name="NC" type="NotConnected"/></pins></libpart>
  </libparts>
  <libraries/><groups/>
  <nets>
    <net code="1" name="/VIN">
      <node ref="U1" pin="1" pintype="power_in"/>
      <node ref="R1" pin="1" pinfunction="A" pintype="passive"/>
      <node ref="H1" pin="1"/>
      <node ref="X9" pin="A1"/></net>
    <net code="2" name="/B">
      <node ref="U1" pin="2" pinfunction="ALT" pintype="output+no_connect"/></net>
    <net code="3" name="/VIN"><tie/><node ref="R1" pin="2"/></net>
  </nets>
</export>
"""


def as_brackets(text):
    """The s-expression twin of an XML netlist, as KiCad writes it."""
    from xml.etree import ElementTree

    def one(element):
        words = [element.tag]
        words += [f'({name} "{value}")' for name, value in element.items()]
        words += [f'"{element.text}"'] if (element.text or "").strip() else []
        return "(" + "\n ".join(words + [one(child) for child in element]) + ")"

    return one(ElementTree.fromstring(text.encode()))


#: The text form before KiCad 4.
OLD = """\
# EESchema Netlist Version 1.1 created  15/6/2008-16:12:17
(
 ( /48553E7C/4639BE2C $noname  C8 100 nF {Lib=C}
  (    1 /sockets/VCC )
  (    2 GND )
 )
 ( 442A4C93 DB9FC J1 DB9
  ( 1 ? )
  ( 2 GND )
  ( A3 /sockets/VCC )
 )
)
*
{ Allowed footprints by component:
$endlist
}
"""
