"""Make the pictures of the README and of docs/ from the demo board.

Usage: python docs/pictures/make.py

Writes map.svg, stage.svg and, where a Chromium is on PATH, checklist.png beside this
file, with the same commands that a user has.  Where kicad-cli 9 is on PATH too,
marked-sheet.png and marked-layout.png: what KiCad shows of a marked copy.
"""

import html
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
STAGE = "synchronous buck at /Core/Phase B/SW"
WIDTH, HEIGHT = 900, 1152
#: What of the sheet and of the layout is shown: x, y, width, height in millimetres.
SHEET_MM = (66, 28, 114, 76)
LAYOUT_MM = (110, 59, 36, 24)


def ohmtrail(*words: object) -> None:
    """Run one command, quietly."""
    code = "from ohmtrail.cli import main; raise SystemExit(main())"
    command = [sys.executable, "-c", code, *map(str, words)]
    subprocess.run(command, check=True, capture_output=True)


def photograph(browser: str, page: Path, out: Path, size: tuple[int, int]) -> None:
    """Write a page, as a browser shows it, as PNG."""
    subprocess.run(
        [
            browser, "--headless", "--no-sandbox", "--hide-scrollbars",
            f"--user-data-dir={out.parent / 'profile'}",
            f"--window-size={size[0]},{size[1]}", f"--screenshot={out}", page.as_uri(),
        ],
        check=True,
        capture_output=True,
    )  # fmt: skip


def cut_out(
    browser: str, drawing: Path, out: Path, box_mm: tuple[int, int, int, int], wide: int
) -> None:
    """Write a rectangle (x, y, width, height) of a drawing of KiCad's as PNG."""
    x, y, width, height = box_mm
    scale = wide / width
    page = out.with_suffix(".html")
    page.write_text(
        '<body style="margin:0;background:white"><img style="position:absolute;'
        f"left:{-x * scale}px;top:{-y * scale}px;"
        f'width:{wide_mm(drawing) * scale}px" src="{html.escape(drawing.as_uri())}">',
        encoding="utf-8",
    )
    photograph(browser, page, out, (wide, round(height * scale)))


def wide_mm(drawing: Path) -> float:
    """Width of a drawing of KiCad's."""
    with open(drawing, encoding="utf-8") as file:
        head = file.read(4000)
    return float(head.partition('width="')[2].partition("mm")[0])


def marked_pictures(folder: Path, browser: str, kicad: str) -> None:
    """Write what KiCad shows of a copy with marks."""
    board = folder / "demo/sk4.kicad_sch"
    copy = folder / "marked"
    log = ("--log", folder / "demo/bench_log.csv")
    ohmtrail("mark", board, "--rail", "VMAIN", *log, "--out", copy)
    sheets, layout = folder / "sheets", folder / "layout.svg"
    for words in (
        ("sch", "export", "svg", "-o", sheets, copy / "sk4.kicad_sch"),
        (
            "pcb", "export", "svg", "--mode-single", "--exclude-drawing-sheet",
            "--layers", "F.Cu,F.Fab,Edge.Cuts,Cmts.User",
            "-o", layout, copy / "sk4.kicad_pcb",
        ),
    ):  # fmt: skip
        subprocess.run([kicad, *map(str, words)], check=True, capture_output=True)
    sheet = sheets / "sk4-Core-Phase B.svg"
    for drawing, name, box_mm in (
        (sheet, "marked-sheet.png", SHEET_MM),
        (layout, "marked-layout.png", LAYOUT_MM),
    ):
        cut_out(browser, drawing, folder / name, box_mm, WIDTH)
        shutil.copy(folder / name, HERE)


def main() -> int:
    """Write the pictures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ohmtrail("demo", folder / "demo")
        board = folder / "demo/sk4.kicad_sch"
        layout = ("--with", folder / "demo/sk4.kicad_pcb")
        ohmtrail("map", board, *layout, "--rail", "VMAIN", "--out", folder / "map.svg")
        shutil.copy(folder / "map.svg", HERE)
        log = ("--log", folder / "demo/bench_log.csv")
        ohmtrail("draw", board, "--stage", STAGE, *log, "--out", HERE / "stage.svg")
        page = folder / "checklist.html"
        ohmtrail(
            "checklist", board, "--stage", STAGE, "--format", "html", "--out", page
        )
        browser = shutil.which("chromium") or shutil.which("chromium-browser")
        if browser is None:
            print("no chromium on PATH: checklist.png left as it is", file=sys.stderr)
            return 0
        photograph(browser, page, folder / "checklist.png", (WIDTH, HEIGHT))
        shutil.copy(folder / "checklist.png", HERE)
        kicad = shutil.which("kicad-cli")
        if kicad is None:
            print(
                "no kicad-cli on PATH: marked-*.png left as they are", file=sys.stderr
            )
            return 0
        marked_pictures(folder, browser, kicad)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
