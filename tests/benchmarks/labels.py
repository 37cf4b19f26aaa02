"""Labels of many kits, against drawing the same lines and codes without laying anything out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache
from importlib.resources import files
from io import BytesIO
from itertools import groupby
from typing import Any
from unittest.mock import patch

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.reasons import because
from kitting.facts.stages import AngleStage, TorqueStage
from kitting.facts.units import Quantity, Torque
from kitting.facts.words import NeedRule, Rule, ThreadState
from kitting.reports.labels.labels import draw_kit_labels
from kitting.reports.stationery import STOCKS
from kitting.views.kit import Bag, BagLine, ContentView, EndLabel, KitView
from kitting.views.plan import TighteningView

from .harness import Name, Pairs, Row, by_turns
from .setting import Setting, lacks

GOAL = 2.0
STOCK = STOCKS["99x67-8"]
BAGS, ENDS = 8, 2
PER_KIT = 1 + BAGS * (1 + ENDS)
# One drawn thing: its sort and what it was given. The last list is the page being drawn.
Drawn = tuple[str, tuple[Any, ...]]
Pages = list[list[Drawn]]


def kit(number: int) -> KitView:
    """The labels of one car, unlike those of the next."""
    coolant = ContentView(
        item=f"COOLANT-{number}", name="coolant concentrate", rule=NeedRule.USE,
        quantity=1_600_000, unit="ml", packs=1, pack=5_000_000,
    )  # fmt: skip
    return KitView(
        reference=f"K{number:06d}",
        on=date(2026, 4, 15),
        vehicle=f"Ulvander Pell …{number % 1000:03d}",
        jobs=("J1 rear coolant pipe seals", "J2 oil cooler reseal"),
        bags=tuple(_bag(number, bag) for bag in range(1, BAGS + 1)),
        loose=(BagLine(content=coolant),),
        doubts=(),
        hazards=("POISONOUS",),
        cautions=(),
    )


def _bag(number: int, bag: int) -> Bag:
    seed = number * BAGS + bag
    return Bag(
        number=bag,
        code=f"K{number:06d}-{bag:02d}",
        joint=f"joint-{seed}",
        joint_name=f"joint number {seed}, pump end",
        lines=tuple(_line(seed, n) for n in range(3)),
        ends=tuple(_end(seed, n) for n in range(ENDS)),
        tightening=(_tightening(seed),),
        count_out=ENDS,
        hazards=(),
    )


def _line(seed: int, n: int) -> BagLine:
    return BagLine(
        content=ContentView(
            item=f"BOLT-{seed}-{n}",
            name=f"flange bolt M6 × {20 + seed % 30}",
            rule=(NeedRule.RENEW, NeedRule.INSPECT, NeedRule.KEEP)[n % 3],
            quantity=4_000,
            unit="each",
            size=f"M6 × {20 + seed % 30} mm",
            material="8.8",
        ),
        positions=(f"bolts {n} to {n + 3}",),
        lubricants=(because(LubricantReason.DRY),) if n % 2 else (),
    )


def _end(seed: int, n: int) -> EndLabel:
    fluid = because(
        LubricantReason.PRODUCT,
        name="rubber assembly fluid",
        item="FLUID-RUBBER",
        amount=Quantity(200, "ml"),
    )
    return EndLabel(
        position=f"pump end {n + 1} of joint {seed}",
        end="short leg",
        content=ContentView(
            item=f"RING-{seed}-{n}", name="o-ring", rule=NeedRule.RENEW, quantity=1_000,
            unit="each", size=f"{10 + seed % 60} × 2.5 mm", material="FKM 75", colour="brown",
        ),
        lubricant=fluid,
    )  # fmt: skip


def _tightening(seed: int) -> TighteningView:
    return TighteningView(
        joint=f"joint-{seed}",
        position="bolts 1 to 4",
        item=f"BOLT-{seed}-0",
        quantity=4,
        rule=Rule.RENEW,
        head="hexagon 8 mm",
        stages=(TorqueStage(Torque(Decimal(20), "N·m")), AngleStage(90_000)),
        thread_state=ThreadState.DRY,
        pattern=None,
        source="invented",
        stopped_by=(),
    )


def ours(kits: Sequence[KitView]) -> list[bytes]:
    """Every kit as a PDF, as the program makes it."""
    made = []
    for one in kits:
        target = BytesIO()
        draw_kit_labels(one, STOCK, target)
        made.append(target.getvalue())
    return made


def record(one: KitView) -> Pages:
    """What a kit's labels have on them, by page: lines of text, codes, frames and rules."""
    from kitting.reports.document import new_canvas
    from kitting.reports.labels import fill, labels

    pages: Pages = [[]]

    def watched(*given: Any) -> Any:
        canvas = new_canvas(*given)
        for name in ("setFont", "drawString", "rect", "line", "showPage"):
            setattr(canvas, name, _noting(name, getattr(canvas, name), pages))
        return canvas

    def code(name: str) -> Callable[..., None]:
        return lambda canvas, *given: None if canvas is None else pages[-1].append((name, given))

    with (
        patch.object(labels, "new_canvas", watched),
        patch.object(fill, "draw_qr", code("qr")),
        patch.object(labels, "draw_code", code("bars")),
    ):
        draw_kit_labels(one, STOCK, BytesIO())
    return [page for page in pages if page]


def _noting(name: str, draw: Callable[..., Any], pages: Pages) -> Callable[..., Any]:
    def noted(*given: Any, **options: Any) -> Any:
        if name == "showPage":
            pages.append([])
        else:
            pages[-1].append((name, given))
        return draw(*given, **options)

    return noted


def bare(kits: Sequence[Pages], widgets: bool = False) -> list[bytes]:
    """The same on ReportLab's bare canvas, each line at a place already known.

    Codes are drawn as filled paths, each encoded once; with `widgets` as ReportLab's own flowables.
    """
    from reportlab.pdfgen.canvas import Canvas

    made = []
    for pages in kits:
        target = BytesIO()
        canvas = Canvas(target, pagesize=_points(), invariant=1)
        for page in pages:
            for name, given in page:
                if name in ("qr", "bars"):
                    _code(canvas, name, given, widgets)
                else:
                    getattr(canvas, name)(*given)
            canvas.showPage()
        canvas.save()
        made.append(target.getvalue())
    return made


def with_widgets(kits: Sequence[Pages]) -> list[bytes]:
    """As `bare`, with ReportLab's own drawing of codes."""
    return bare(kits, widgets=True)


def _code(canvas: Any, name: str, given: tuple[Any, ...], widgets: bool) -> None:
    if not widgets:
        path = canvas.beginPath()
        for rect in _dark(name, given):
            path.rect(*rect)
        canvas.drawPath(path, stroke=0, fill=1)
    elif name == "qr":
        from reportlab.graphics import renderPDF
        from reportlab.graphics.barcode.qr import QrCodeWidget
        from reportlab.graphics.shapes import Drawing

        text, x, y, side = given
        drawing = Drawing(side, side)
        drawing.add(QrCodeWidget(text, barWidth=side, barHeight=side))
        renderPDF.draw(drawing, canvas, x, y)
    else:
        from reportlab.graphics.barcode.code128 import Code128

        text, x, y, _, height = given
        Code128(text, barWidth=0.7, barHeight=height).drawOn(canvas, x, y)


Rect = tuple[float, float, float, float]


def _dark(name: str, given: tuple[Any, ...]) -> Iterator[Rect]:
    """The dark rectangles of a code: x, y, width, height from the lower left of the page."""
    if name == "qr":
        text, x, y, side = given
        modules = _modules(text)
        size = side / (len(modules) + 8)
        for row, dark in enumerate(modules):
            foot, column = y + side - (row + 5) * size, 4
            for cell, run in groupby(dark):
                count = len(list(run))
                if cell:
                    yield x + column * size, foot, count * size, size
                column += count
        return
    text, x, y, wide, tall = given
    widths = _bars(text)
    module = wide / (sum(widths) + 20)
    left = x + 10 * module
    for number, count in enumerate(widths):
        if number % 2 == 0:
            yield left, y, count * module, tall
        left += count * module


def _points() -> tuple[float, float]:
    return STOCK.page_width * 72 / 25.4, STOCK.page_height * 72 / 25.4


@lru_cache(maxsize=64)
def _modules(text: str) -> tuple[tuple[bool, ...], ...]:
    from reportlab.graphics.barcode.qr import QrCodeWidget

    code = QrCodeWidget(text)
    code.draw()
    return tuple(tuple(bool(cell) for cell in row) for row in code.qr.modules)


@lru_cache(maxsize=64)
def _bars(text: str) -> tuple[int, ...]:
    from reportlab.graphics.barcode.code128 import Code128

    code = Code128(text)
    code.validate()
    code.encode()
    code.decompose()
    return tuple(ord(letter.upper()) - ord("A") + 1 for letter in code.decomposed)


def with_fpdf2(kits: Sequence[Pages]) -> list[bytes]:
    """The same with fpdf2; it has neither code, so ReportLab says where they are dark."""
    from fpdf import FPDF

    fonts = files("kitting.reports") / "fonts"
    high = _points()[1]
    made = []
    for pages in kits:
        paper = FPDF(unit="pt", format=_points())
        paper.set_auto_page_break(False)
        paper.add_font("Kitting", "", str(fonts / "DejaVuSansCondensed.ttf"))
        paper.add_font("Kitting", "B", str(fonts / "DejaVuSansCondensed-Bold.ttf"))
        for page in pages:
            paper.add_page()
            for name, given in page:
                _put(paper, name, given, high)
        made.append(bytes(paper.output()))
    return made


def _put(paper: Any, name: str, given: tuple[Any, ...], high: float) -> None:
    if name == "setFont":
        paper.set_font("Kitting", "B" if given[0].endswith("Bold") else "", given[1])
    elif name == "drawString":
        x, y, text = given
        paper.text(x, high - y, text)
    elif name == "rect":
        x, y, wide, tall = given[:4]
        paper.rect(x, high - y - tall, wide, tall)
    elif name == "line":
        x, y, to_x, to_y = given
        paper.line(x, high - y, to_x, high - to_y)
    else:
        for x, y, wide, tall in _dark(name, given):
            paper.rect(x, high - y - tall, wide, tall, style="F")


def text_of(pdf: bytes) -> str:
    """What can be read in a PDF, without the spaces."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    text = "".join(page.get_textpage().get_text_bounded() for page in document)
    return "".join(sorted("".join(text.split())))


Peer = Callable[[Sequence[Pages]], list[bytes]]
PEERS: tuple[tuple[str, str, float | None, Peer], ...] = (
    ("reportlab", "ReportLab, places known", GOAL, bare),
    ("fpdf", "fpdf2, places known", GOAL, with_fpdf2),
    ("reportlab", "ReportLab, its own code widgets", None, with_widgets),
)


def _asked(setting: Setting) -> Iterator[tuple[int, str, str, float | None, Peer]]:
    for labels in setting.sizes(PER_KIT, 10_000):
        for package, against, goal, peer in PEERS:
            # Widgets draw a code some hundred times slower: fewer of them tell as much.
            many = labels if peer is not with_widgets else max(PER_KIT, labels // 10)
            yield many, package, against, goal, peer


def _size(labels: int) -> str:
    return f"{labels:,} labels, {labels // PER_KIT} files"


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    return (("labels", _size(many), against) for many, _, against, _, _ in _asked(setting))


def run(setting: Setting) -> Iterator[Row]:
    """So many labels in kits of 25, each kit a PDF of its own."""
    for many, package, against, goal, peer in _asked(setting):
        missing = lacks(package)
        if missing is not None:
            yield Row("labels", _size(many), against, skipped=missing)
        else:
            yield _against(setting, many, peer).row("labels", _size(many), against, goal)


def _against(setting: Setting, labels: int, peer: Peer) -> Pairs:
    kits = [kit(number) for number in range(labels // PER_KIT)]
    pages = [record(one) for one in kits]
    if text_of(ours(kits[:1])[0]) != text_of(peer(pages[:1])[0]):
        raise AssertionError("the same labels do not have the same text")
    return by_turns(lambda: ours(kits), lambda: peer(pages), min(setting.runs, 3), warm=False)
