"""Plan a book's pages and the flats of its pieces, without a server or a database."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from reviews.management.measures import NoMeasure, length_mm, size_mm
from reviews.notices.template_paper import TooManyPixels, pdf_template, png_template, svg_template
from reviews.pages.wording import press as words
from reviews.press import covers, paper
from reviews.press.covers import CASE_RULES, JACKET_RULES, Trim
from reviews.press.flats import Flat
from reviews.press.page_plan import BindingKind, EndsKind, PagePlan, page_plan
from reviews.press.refused import CannotPrint

AT_FAULT, COULD_NOT_LOOK = 1, 2


class Command(BaseCommand):
    help = (
        "Say which pages face and how each piece lies flat; --template writes one to draw on. Exits 1 where the book "
        "cannot be bound so, 2 where a measure could not be read. The printer's own template wins."
    )
    requires_system_checks = ()
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--trim", required=True, help="a page as it is cut, like 250x250mm or 8.5x11in")
        parser.add_argument("--pages", type=int, required=True)
        parser.add_argument("--binding", choices=[kind.value for kind in BindingKind], required=True)
        parser.add_argument("--ends", choices=[kind.value for kind in EndsKind], required=True)
        parser.add_argument("--bleed", help="3mm, or an eighth of an inch where the trim is in inches")
        parser.add_argument("--page-thickness", help="of one page (half a leaf), like 0.06mm")
        parser.add_argument("--pages-per-inch", type=float, help="the same as the paper mill may state it")
        parser.add_argument("--case-rules", choices=sorted(CASE_RULES), default="dingword")
        parser.add_argument("--jacket-rules", choices=sorted(JACKET_RULES), default="wakefields")
        parser.add_argument("--piece", choices=["spread", "page", "cover", "jacket"], default="spread")
        parser.add_argument("--template", type=Path, metavar="FILE", help="a .pdf, .svg or .png of the piece")
        parser.add_argument("--ppi", type=float, default=300, help="resolution of a .png template")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            plan = page_plan(options["pages"], BindingKind(options["binding"]), EndsKind(options["ends"]))
            flats = self.flats(plan, options)
            if options["template"]:
                self.write(flats, options)
        except CannotPrint as no:
            self.stop(words.refusal(no), AT_FAULT)
        except NoMeasure as no:
            self.stop(str(no), COULD_NOT_LOOK)
        except TooManyPixels as no:
            self.stop(
                f"{no.args[0]} × {no.args[1]} pixels are too many or too few. Choose another --ppi.", COULD_NOT_LOOK
            )
        except OSError as no:
            self.stop(f"{options['template']} could not be written: {no.strerror}.", COULD_NOT_LOOK)
        else:
            self.stdout.write(json.dumps(as_plain(plan, flats), ensure_ascii=False, indent=1))

    def flats(self, plan: PagePlan, options: dict[str, Any]) -> dict[str, Flat]:
        """Lay every piece whose measures are known: covers need the paper's thickness."""
        trim = Trim(*size_mm(options["trim"]))
        inch = options["trim"].strip().endswith("in")
        bleed = length_mm(options["bleed"]) if options["bleed"] else covers.BLEED_INCH * 25.4 if inch else 3.0
        flats = {"spread": covers.spread(trim, bleed_mm=bleed), "page": covers.single_page(trim, bleed_mm=bleed)}
        block = self.block(plan, options)
        if block is None:
            return flats
        if plan.binding == BindingKind.CASE:
            rules = CASE_RULES[options["case_rules"]]
            flats["cover"] = covers.case_wrap(trim, block, rules)
            spine = covers.case_spine_mm(block, rules)
            flats["jacket"] = covers.jacket(trim, spine, JACKET_RULES[options["jacket_rules"]])
        else:
            spine = 0.0 if plan.binding == BindingKind.STITCHED else block
            flats["cover"] = covers.paperback_cover(trim, spine, bleed_mm=bleed)
        return flats

    def block(self, plan: PagePlan, options: dict[str, Any]) -> float | None:
        if options["page_thickness"]:
            stock = paper.by_caliper(2 * length_mm(options["page_thickness"]))
        elif options["pages_per_inch"] is not None:
            stock = paper.by_pages_per_inch(options["pages_per_inch"])
        else:
            return None
        return paper.block_mm(plan.n_pages, stock)

    def write(self, flats: dict[str, Flat], options: dict[str, Any]) -> None:
        path, piece = options["template"], options["piece"]
        if piece not in flats:
            raise NoMeasure(
                f"A {piece} needs the thickness of the paper, and a jacket a case: add --page-thickness, or choose "
                "another --piece."
            )
        flat, title = flats[piece], f"{piece}, {options['trim']}"
        made = {
            ".pdf": lambda: pdf_template(flat, title),
            ".svg": lambda: svg_template(flat, title).encode(),
            ".png": lambda: png_template(flat, options["ppi"]),
        }
        if path.suffix.lower() not in made:
            raise NoMeasure(f"“{path.name}” ends in none of .pdf, .svg, .png. Choose one of them.")
        path.write_bytes(made[path.suffix.lower()]())

    def stop(self, sentence: str, code: int) -> None:
        self.stderr.write(sentence)
        raise SystemExit(code)


def as_plain(plan: PagePlan, flats: dict[str, Flat]) -> dict[str, Any]:
    """Put the plan and its flats into plain values, the caution with them."""
    return {
        "binding": plan.binding,
        "ends": plan.ends_kind,
        "pages": plan.n_pages,
        "first_page_is": "left" if plan.first_is_left else "right",
        "openings": plan.openings,
        "alone": plan.singles,
        "pasted_down": plan.pasted,
        "end_openings": plan.ends,
        "sections": [{"first": section.first, "pages": section.n_pages} for section in plan.sections],
        "flat_openings": plan.flat_openings,
        "cautions": [words.caution(code, plan.n_pages) for code in plan.cautions],
        "pieces": {name: _flat(flat) for name, flat in flats.items()},
        "note": str(words.PRINTER_WINS),
    }


def _flat(flat: Flat) -> dict[str, Any]:
    return {
        "width_mm": flat.width_mm,
        "height_mm": flat.height_mm,
        "with_bleed_mm": flat.with_bleed_mm,
        "bleed_mm": round(flat.bleed_mm, 3),
        "turn_in_mm": round(flat.turn_in_mm, 2),
        "panels": [{"panel": p.kind, "left_mm": p.left_mm, "width_mm": p.width_mm} for p in flat.panels],
    }
