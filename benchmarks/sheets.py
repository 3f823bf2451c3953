"""How long the printed checklist takes, and the shared case.

Usage: python benchmarks/sheets.py [BOARD ...]

CPU seconds, the least of 3 runs, of the checklist of every rail, of its maps and stage
drawings, of the page as HTML and as PDF, and of a shared case written and read back.
Reading the board and recognising are not counted.  Default boards as in maps.py.
"""

import argparse
import tempfile
from pathlib import Path

from maps import boards, least


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("boards", nargs="*", type=Path)
    options = parser.parse_args()
    from ohmtrail.cli._pages import pictures_of
    from ohmtrail.cli.render.checklist_page import checklist_page
    from ohmtrail.cli.render.page_html import page_html
    from ohmtrail.cli.render.page_pdf import page_pdf
    from ohmtrail.importers import load
    from ohmtrail.importers.shared_case._case import SharedCase
    from ohmtrail.importers.shared_case._read import read_case
    from ohmtrail.importers.shared_case._write import case_bytes
    from ohmtrail.netanalysis.checklist import make_checklist
    from ohmtrail.netanalysis.recognise import recognise

    print(
        f"{'board':32} {'pins':>6} {'steps':>6} {'checklist':>9} {'drawings':>8} "
        f"{'HTML':>6} {'PDF':>6} {'share':>6} {'open':>6} {'kB':>5}"
    )
    with tempfile.TemporaryDirectory() as folder:
        for path in options.boards or list(boards(Path(folder))):
            circuit = recognise(load(path))
            solving, made = least(lambda c=circuit: make_checklist(c))

            def page(c=circuit, m=made):
                return checklist_page(m, *pictures_of(c, m, {}))

            drawing, sheet = least(page)
            html, _ = least(lambda s=sheet: page_html(s))
            pdf, _ = least(lambda s=sheet: page_pdf(s))
            case = SharedCase(circuit.board, "", "log.csv", "?")
            share, data = least(lambda c=case: case_bytes(c))
            file = Path(folder) / "x.ohmcase"
            file.write_bytes(data)
            opening, _ = least(lambda f=file: read_case(f))
            steps = sum(len(section.steps) for section in made.sections)
            print(
                f"{path.name[:32]:32} {circuit.board.pin_count:6} {steps:6} "
                f"{solving:9.2f} {drawing:8.2f} {html:6.2f} {pdf:6.2f} {share:6.2f} "
                f"{opening:6.2f} {len(data) // 1000:5}"
            )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
