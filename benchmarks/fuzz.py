"""Mutated files of every format: each must end in a board or in one error line.

Usage: python benchmarks/fuzz.py [--inputs N] [--seconds S] [--seed K] [FORMAT ...]

Takes small files of every built-in format (test corpus, demo board, and the
seeds below), makes N mutations a format, or as many as S seconds a format allow,
and reads each in this process with the format named, so that nothing is turned
away by its first bytes.  Prints a table; status 1 if any input crashed the reader
or took longer than 10 s.
"""

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from types import FrameType

from ohmtrail.importers import _registry
from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers._importer import Importer

LIMIT_S = 10
SMALLEST_SEED_BYTES = 100
LARGEST_SEED_BYTES = 60_000
#: Where a format has few seeds of that size, two of up to this size are taken too.
LARGER_SEED_BYTES = 600_000
SEEDS_A_FORMAT = 8
ROOT = Path(__file__).resolve().parent.parent

#: Small files of formats of which the corpus has none, or none that is small.
INLINE = {
    "xschem": """v {xschem version=3.4.4 file_version=1.2
}
G {}
K {}
V {}
S {}
E {}
N 100 -30 100 30 {lab=mid}
N 100 90 100 120 {}
C {res.sym} 100 -60 0 0 {name=R1
value=10k
footprint=0603}
C {capa.sym} 100 60 1 1 {name=C[1..0] value=100n}
C {gnd.sym} 100 120 0 0 {name=l1 lab=GND}
C {lab_pin.sym} 100 -90 0 0 {name=p1 sig_type=std_logic lab=VIN}
""",
    "ipc_2581": """<?xml version="1.0" encoding="UTF-8"?>
<IPC-2581 revision="C" xmlns="http://webstds.ipc.org/2581">
<Content><FunctionMode mode="ASSEMBLY"/></Content>
<Bom name="b"><BomItem OEMDesignNumberRef="X" quantity="1" category="ELECTRICAL">
<RefDes name="R1" packageRef="R0603" populate="true" layerRef="TOP"/>
<Characteristics category="ELECTRICAL"><Textual definitionSource="k"
textualCharacteristicName="Value" textualCharacteristicValue="10k"/>
</Characteristics></BomItem></Bom>
<Ecad name="e"><CadHeader units="MILLIMETER"/><CadData>
<Layer name="TOP" layerFunction="CONDUCTOR" side="TOP" polarity="POSITIVE"/>
<Step name="s"><Package name="R0603" type="OTHER" pinOne="1">
<Pin number="1" type="SURFACE"><Location x="-0.8" y="0"/></Pin>
<Pin number="2" type="SURFACE"><Location x="0.8" y="0"/></Pin></Package>
<Component refDes="R1" packageRef="R0603" part="X" layerRef="TOP" mountType="SMT">
<Xform rotation="90"/><Location x="10" y="20"/></Component>
<LogicalNet name="VIN"><PinRef componentRef="R1" pin="1"/></LogicalNet>
<LogicalNet name="GND"><PinRef componentRef="R1" pin="2"/></LogicalNet>
</Step></CadData></Ecad></IPC-2581>
""",
    "eagle": """<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE eagle SYSTEM "eagle.dtd">
<eagle version="9.6.2"><drawing><schematic><libraries><library name="l">
<symbols><symbol name="R"><pin name="1" x="-5" y="0"/><pin name="2" x="5" y="0"/>
</symbol></symbols><packages><package name="P"><smd name="1" x="0" y="0" dx="1"
dy="1" layer="1"/><smd name="2" x="2" y="0" dx="1" dy="1" layer="1"/></package>
</packages><devicesets><deviceset name="R" prefix="R" uservalue="yes"><gates>
<gate name="G$1" symbol="R" x="0" y="0"/></gates><devices>
<device name="" package="P"><connects><connect gate="G$1" pin="1" pad="1"/>
<connect gate="G$1" pin="2" pad="2"/></connects><technologies>
<technology name=""/></technologies></device></devices></deviceset></devicesets>
</library></libraries><parts>
<part name="R1" library="l" deviceset="R" device="" value="10k"/></parts>
<sheets><sheet><instances><instance part="R1" gate="G$1" x="0" y="0"/></instances>
<nets><net name="VIN" class="0"><segment>
<pinref part="R1" gate="G$1" pin="1"/></segment></net>
<net name="GND" class="0"><segment><pinref part="R1" gate="G$1" pin="2"/>
</segment></net></nets></sheet></sheets></schematic></drawing></eagle>
""",
    "kicad_layout": """(kicad_pcb (version 20240108) (generator "pcbnew")
 (net 0 "") (net 1 "VIN") (net 2 "GND")
 (footprint "R:R_0603" (layer "F.Cu") (at 10 20 90)
  (property "Reference" "R1") (property "Value" "10k")
  (pad "1" smd rect (at -0.8 0 90) (size 1 1) (layers "F.Cu") (net 1 "VIN"))
  (pad "2" smd rect (at 0.8 0 90) (size 1 1) (layers "F.Cu") (net 2 "GND")))
)
""",
    "pin_table": "ref,pin,net,name,value\nR1,1,VIN,A,10k\nR1,2,GND,K,\nC1,1,VIN,,1u\n",
    "spice": """* title
.param r=1k
.subckt divider in out
R1 in out {r}
R2 out 0 1k m=2
.ends
X1 vin mid divider r=2k
C1 mid 0 1u
M1 d g s b nch w=1u l=1u
+ ad=1p
.end
""",
}
JUNK: tuple[bytes, ...] = (
    b"(",
    b")",
    b"{",
    b"}",
    b"[",
    b"]",
    b"<",
    b"&a;",
    b"<!--",
    b"]]>",
    b"\x00",
)
JUNK += (b'"', b"\\", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\n\n", b"\t", b"-", b"%")
JUNK += (b"9" * 400, b"1e999", b"nan", b"-1", b"0", b"\xe2\x80\xa8", b"\x85", b"$@")
JUNK += (b"(" * 3000, b"A" * 5000, b"[1000000000:0]", b"*", b"${X}", b"'", b"~", b"=")


class Hang(BaseException):
    """An input took longer than the limit."""


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise Hang


def mutate(data: bytes, chance: random.Random) -> bytes:
    """Return the bytes with one to four things done to them."""
    for _ in range(chance.choice((1, 1, 2, 4))):
        at = chance.randrange(len(data) + 1)
        end = min(len(data), at + chance.choice((1, 8, 80, 800)))
        match chance.randrange(8):
            case 0:
                flipped = bytearray(data)
                for _ in range(chance.choice((1, 3, 20))):
                    if flipped:
                        place = chance.randrange(len(flipped))
                        flipped[place] ^= 1 << chance.randrange(8)
                data = bytes(flipped)
            case 1:
                data = data[:at] if chance.random() < 0.7 else data[at:]
            case 2:
                times = chance.choice((2, 2, 3, 50))
                data = data[:at] + data[at:end] * times + data[end:]
            case 3:
                words = data.split(b" ")
                one, two = chance.randrange(len(words)), chance.randrange(len(words))
                words[one], words[two] = words[two], words[one]
                data = b" ".join(words)
            case 4:
                data = data[:at] + chance.choice(JUNK) + data[at:]
            case 5:
                lines = data.splitlines(keepends=True)
                for _ in range(chance.choice((1, 2, 10))):
                    if lines:
                        del lines[chance.randrange(len(lines))]
                data = b"".join(lines)
            case 6:
                lines = data.splitlines(keepends=True)
                chosen = chance.choices(lines, k=2) if lines else []
                lines[at % (len(lines) + 1) : 0] = chosen
                data = b"".join(lines)
            case _:
                data = data[:at] + data[end:]
    return data


def seeds(importer: Importer, files: list[tuple[Path, bytes]]) -> list[Path | bytes]:
    """Return files of a format, small ones and some larger, and the inline seed."""
    found = [path for path, head in files if importer.sniff(head)]
    found = [path for path in found if path.suffix in importer.suffixes] or found
    found.sort(key=lambda path: path.stat().st_size)
    small = [path for path in found if path.stat().st_size <= LARGEST_SEED_BYTES]
    step = max(1, len(small) // SEEDS_A_FORMAT)
    chosen: list[Path | bytes] = list(small[::step][:SEEDS_A_FORMAT])
    if len(small) < 3:
        chosen += found[len(small) :][:2]
    if importer.name in INLINE:
        chosen += [INLINE[importer.name].encode()] * (4 if chosen else 1)
    return chosen


def gather() -> list[tuple[Path, bytes]]:
    """Return every file small enough to be a seed, with its first bytes."""
    corpus = Path(os.environ.get("OHMTRAIL_CORPUS", ROOT.parent / "shared/corpus"))
    files = []
    for folder in (corpus, ROOT / "fixtures/demo"):
        for path in sorted(folder.rglob("*")):
            if not path.is_file():
                continue
            if SMALLEST_SEED_BYTES <= path.stat().st_size <= LARGER_SEED_BYTES:
                files.append((path, path.read_bytes()[:65536]))
    return files


def lay_out(seed: Path | bytes, folder: Path) -> bytes:
    """Put what lies beside a seed into a folder; return the seed's bytes."""
    folder.mkdir()
    if isinstance(seed, bytes):
        return seed
    for other in seed.parent.iterdir():
        if other.is_file() and other.stat().st_size <= LARGEST_SEED_BYTES:
            shutil.copyfile(other, folder / other.name)
    return seed.read_bytes()


def attempt(path: Path, format: str) -> tuple[str, str]:
    """Read a file; return how it ended and, for a crash or hang, where."""
    signal.alarm(LIMIT_S)
    try:
        _registry.load(path, format)
        return "boards", ""
    except ImporterError as error:
        if "\n" not in str(error):
            return "errors", ""
        return "crashes", f"error of several lines: {str(error)!r}"
    except Hang:
        return "hangs", traceback.format_exc()
    except Exception:
        return "crashes", traceback.format_exc()
    finally:
        signal.alarm(0)


def fuzz(
    importer: Importer,
    chosen: list[Path | bytes],
    inputs: int,
    seconds: float,
    key: int,
) -> tuple[Counter[str], float]:
    """Read mutations of one format; return how they ended and the slowest (s)."""
    ends: Counter[str] = Counter()
    told: set[str] = set()
    slowest = 0.0
    begin = time.perf_counter()
    with tempfile.TemporaryDirectory() as top:
        laid = []
        for number, seed in enumerate(chosen):
            folder = Path(top) / str(number)
            data = lay_out(seed, folder)
            name = importer.suffixes[0] if isinstance(seed, bytes) else seed.name
            laid.append((seed, folder, data, name))
        for number in range(inputs):
            if time.perf_counter() - begin > seconds:
                break
            seed, folder, data, name = laid[number % len(laid)]
            chance = random.Random(f"{key}:{importer.name}:{number}")
            path = folder / (f"seed{name}" if name.startswith(".") else name)
            path.write_bytes(mutate(data, chance))
            start = time.perf_counter()
            end, trace = attempt(path, importer.name)
            slowest = max(slowest, time.perf_counter() - start)
            ends[end] += 1
            where = "".join(trace.splitlines()[-3:])
            if trace and where not in told:
                told.add(where)
                origin = "inline seed" if isinstance(seed, bytes) else seed
                print(f"{importer.name} input {number} of {origin}:\n{trace}")
                kept = Path(tempfile.gettempdir()) / f"fuzz-{importer.name}-{number}"
                shutil.copyfile(path, kept)
                print(f"kept as {kept}", flush=True)
    return ends, slowest


def main() -> int:
    """Read mutations of every format and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("formats", nargs="*")
    parser.add_argument("--inputs", type=int, default=1000)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    signal.signal(signal.SIGALRM, _stop)
    files = gather()
    table = _registry.importers()
    own = {name.rpartition(".")[2] for name in _registry.BUILT_IN}
    bad = 0
    total: Counter[str] = Counter()
    columns = ("boards", "errors", "crashes", "hangs")
    print(
        f"{'format':16} {'seeds':>5} {'inputs':>7} "
        + " ".join(f"{column:>7}" for column in columns)
        + f" {'slowest':>8}"
    )
    for name in options.formats or [name for name in table if name in own]:
        chosen = seeds(table[name], files)
        if not chosen:
            print(f"{name}: no seed (is the corpus there?)", file=sys.stderr)
            bad += 1
            continue
        ends, slowest = fuzz(
            table[name], chosen, options.inputs, options.seconds, options.seed
        )
        total += ends
        bad += ends["crashes"] + ends["hangs"]
        print(
            f"{name:16} {len(chosen):5} {ends.total():7,} "
            + " ".join(f"{ends[column]:7,}" for column in columns)
            + f" {slowest:6.2f} s",
            flush=True,
        )
    print(
        f"{'all':16} {'':5} {total.total():7,} "
        + " ".join(f"{total[column]:7,}" for column in columns)
    )
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
