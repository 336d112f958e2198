"""The job sheet as a PDF on A4: the verdict, the drawings, what is to be measured, and room for the fitter's hand."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from fpdf import FPDF
from fpdf.enums import WrapMode, XPos, YPos

from service.counter.job_sheet import JobSheet
from service.counter.language.reader import Reader
from service.counter.pictures.margins import margins_drawing
from service.counter.pictures.pdf import draw
from service.counter.pictures.shapes import GREY, INK, INKS, Drawing, outcome_mark

FONTS = Path(__file__).parent / "fonts"
LEFT, RIGHT, TOP, FOOT = 11.0, 199.0, 9.0, 10.0
WIDTH = RIGHT - LEFT
QR_MM = 27.0
MOST_BARS = 12
TAPED_AFTERWARDS = ("full_droop", "ride", "bump_contact")


def sheet_pdf(sheet: JobSheet) -> bytes:
    """The sheet's bytes: the same record makes the same ones."""
    paper = _paper(sheet)
    _head(paper, sheet)
    _facts(paper, sheet)
    _drawings(paper, sheet)
    _reasons(paper, sheet)
    _measure(paper, sheet)
    _paragraph(paper, sheet.reader.say("assumptions"), "  •  ".join(said.text for said in sheet.view.assumptions))
    _paragraph(paper, sheet.reader.say("cautions"), "  •  ".join(said.text for said in sheet.view.cautions))
    _for_the_fitter(paper, sheet)
    _origin(paper, sheet)
    return bytes(paper.output() or b"")


def _paper(sheet: JobSheet) -> FPDF:
    paper = FPDF(format="A4")
    paper.add_font("sans", "", FONTS / "DejaVuSans.ttf")
    paper.add_font("sans", "B", FONTS / "DejaVuSans-Bold.ttf")
    paper.set_margins(LEFT, TOP, 210 - RIGHT)
    paper.c_margin = 0.6
    paper.set_auto_page_break(auto=True, margin=FOOT)
    paper.set_lang(sheet.reader.language)
    paper.set_title(f"{sheet.reader.say('sheet_title')}: {sheet.view.word}")
    paper.set_creation_date(datetime.fromisoformat(sheet.record["provenance"]["evaluated_at"]))
    paper.add_page()
    return paper


def _write(paper: FPDF, text: str, size: float, ink: str = INK, *, bold: bool = False) -> None:
    """A paragraph at the left edge; a word that is longer than the line is broken."""
    paper.set_font("sans", "B" if bold else "", size)
    paper.set_text_color(ink)
    paper.set_x(LEFT)
    wrap = WrapMode.CHAR if any(len(word) > 60 for word in text.split()) else WrapMode.WORD
    paper.multi_cell(0, size * 0.46, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT, wrapmode=wrap)


def _head(paper: FPDF, sheet: JobSheet) -> None:
    view = sheet.view
    draw(paper, sheet.qr, RIGHT - QR_MM, TOP - 2, QR_MM)
    _write(paper, f"Coilgap · {sheet.reader.say('sheet_title')}", 8, GREY)
    paper.set_right_margin(210 - RIGHT + QR_MM + 3)
    top = paper.get_y() + 1
    draw(paper, Drawing(16, 16, "", "", tuple(outcome_mark(view.outcome, 8, 8, 15))), LEFT, top, 9)
    paper.set_font("sans", "B", 18)
    paper.set_text_color(INKS[view.outcome])
    paper.text(LEFT + 11, top + 7, view.word)
    paper.set_y(top + 10)
    _write(paper, view.action, 9, bold=True)
    _write(paper, view.headline.text, 9)
    paper.set_right_margin(210 - RIGHT)
    paper.set_y(max(paper.get_y(), TOP + QR_MM - 3) + 1)


def _facts(paper: FPDF, sheet: JobSheet) -> None:
    facts = [*sheet.facts, *([("", sheet.reader.say("lift_is", lift=sheet.view.lift))] if sheet.view.lift else [])]
    _write(paper, "   ".join(f"{name}: {text}." if name else text for name, text in facts), 8)
    _write(paper, f"{sheet.reader.say('sheet_registration')}: {'_' * 40}", 8)
    paper.set_y(paper.get_y() + 2)


def _drawings(paper: FPDF, sheet: JobSheet) -> None:
    """The travel, the spring and the margins side by side; where there is no spring the others have more room."""
    *others, _ = sheet.view.drawings
    shown = [*others, margins_drawing(sheet.record, sheet.reader, MOST_BARS)]
    shares = {1: (66.0,), 2: (66.0, 66.0), 3: (66.0, 52.0, 62.0)}[len(shown)]
    top, x = paper.get_y(), LEFT
    for drawing, width in zip(shown, shares, strict=True):
        draw(paper, drawing, x, top, width)
        x += width + (WIDTH - sum(shares)) / max(len(shown) - 1, 1)
    paper.set_y(top + max(d.height * width / d.width for d, width in zip(shown, shares, strict=True)) + 1)


def _reasons(paper: FPDF, sheet: JobSheet) -> None:
    if sheet.view.reasons:
        _write(paper, sheet.reader.say("reasons"), 8, bold=True)
    for reason in sheet.view.reasons:
        _marked(paper, reason.outcome, f"{reason.name}: {reason.because.text}")
    if sheet.view.clear:
        _marked(paper, "clear", f"{sheet.reader.say('clear_checks')}: " + ", ".join(r.name for r in sheet.view.clear))


def _marked(paper: FPDF, outcome: str, text: str) -> None:
    if paper.will_page_break(7):
        paper.add_page()
    draw(paper, Drawing(16, 16, "", "", tuple(outcome_mark(outcome, 8, 8, 14))), LEFT, paper.get_y() + 0.2, 3)
    paper.set_left_margin(LEFT + 4)
    paper.set_font("sans", "", 7.2)
    paper.set_text_color(INK)
    paper.set_x(LEFT + 4)
    paper.multi_cell(WIDTH - 4, 3.3, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    paper.set_left_margin(LEFT)


def _measure(paper: FPDF, sheet: JobSheet) -> None:
    """With a place for each reading where the verdict waits for them, else in short."""
    heading, missing = sheet.reader.say("measure"), sheet.view.missing
    if sheet.record["verdict"] != "undetermined":
        _paragraph(paper, heading, "  •  ".join(row.how.text for row in missing))
        return
    if missing:
        paper.set_y(paper.get_y() + 1)
        _write(paper, heading, 8, bold=True)
    for number, row in enumerate(missing, 1):
        needed_for = sheet.reader.say("needed_for", checks=row.needed_for)
        _write(paper, f"{number}. {row.how.text} {needed_for}. {row.for_a_pen(8)}", 7.2)


def _paragraph(paper: FPDF, heading: str, text: str) -> None:
    if text:
        paper.set_y(paper.get_y() + 1)
        _write(paper, heading, 8, bold=True)
        _write(paper, text, 6.8)


def _for_the_fitter(paper: FPDF, sheet: JobSheet) -> None:
    """What the build should tape at, with a place for what it does; then the name and the signature."""
    reader = sheet.reader
    if paper.will_page_break(44):
        paper.add_page()
    paper.set_y(paper.get_y() + 1.5)
    _write(paper, reader.say("fitters_readings"), 8, bold=True)
    paper.set_draw_color(GREY)
    heads = (reader.say("arch_to_hub"), reader.say("expected"), reader.say("left_wheel"), reader.say("right_wheel"))
    _row(paper, heads, bold=True)
    for position in sheet.record["positions"]:
        if position["at"] in TAPED_AFTERWARDS:
            _row(paper, (reader.say("mark_" + position["at"]), _expected(position, reader), "", ""))
    paper.set_y(paper.get_y() + 8)
    paper.set_draw_color(INK)
    for index, key in enumerate(("fitter", "signature")):
        x = LEFT + index * (WIDTH / 2 + 2)
        paper.line(x, paper.get_y(), x + WIDTH / 2 - 2, paper.get_y())
        paper.set_font("sans", "", 7)
        paper.text(x, paper.get_y() + 3, reader.say(key))
    paper.set_y(paper.get_y() + 5)


def _row(paper: FPDF, cells: tuple[str, ...], *, bold: bool = False) -> None:
    paper.set_font("sans", "B" if bold else "", 7.5)
    paper.set_text_color(INK)
    paper.set_x(LEFT)
    for text, width in zip(cells, (52.0, 44.0, 46.0, 46.0), strict=True):
        paper.cell(width, 5.2, text, border=1)
    paper.ln()


def _expected(position: dict[str, dict[str, float] | None], reader: Reader) -> str:
    height = position["arch_to_hub_mm"]
    return "–" if height is None else reader.figure("arch_to_hub_mm", height["value"], height["plus_minus"])


def _origin(paper: FPDF, sheet: JobSheet) -> None:
    provenance, say = sheet.record["provenance"], sheet.reader.say
    _write(paper, f"{say('record')}: {sheet.address} · {say('evaluated_at')}: {provenance['evaluated_at']}", 6.5, GREY)
    _write(paper, f"{say('digest')}: {provenance['request_sha256']}", 6.5, GREY)
