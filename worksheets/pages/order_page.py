"""The order to the crank's maker, as a page."""

from __future__ import annotations

from truethrow.balance.correction.ordering import DrillingRange
from truethrow.balance.result.work import Result
from truethrow.balance.running.forecast import Figure
from truethrow.worksheets.cards.card import Big, Bigs, Block, Card, CardTable, Cell, Lines, Side
from truethrow.worksheets.cards.figures import Figures
from truethrow.worksheets.data import planning_data
from truethrow.worksheets.pages.page import estimate, page
from truethrow.worksheets.shown.display import Display
from truethrow.worksheets.words import about_words, result_words
from truethrow.worksheets.words import planning_words as words


def order_page(
    result: Result,
    forecast: Figure,
    target_g: float,
    taken: DrillingRange,
    allowed_gmm: tuple[float, float],
    show: Display,
    date: str,
) -> Card:
    """What planning_tables.order shows, for the maker. allowed_gmm: of the front and the rear plane."""
    job, made = result.job, result.job.engine
    lengths = {"stroke_mm": made.declared_stroke_mm, "rod_length_mm": made.declared_rod_length_mm}
    data = planning_data.order(forecast, target_g, taken) | {
        "layout": words.called(made),
        "lengths": {name: mm for name, mm in lengths.items() if mm is not None},
        "throws": [
            {"throw": one.name, "angle_deg": one.angle_deg, "z_mm": one.place_mm} for one in job.layout.throws
        ],
        "allowed_gmm": dict(zip(("front", "rear"), allowed_gmm, strict=True)),
    }
    figures = Figures(data, show)
    said = result_words.estimated(job)
    blocks: list[Block] = estimate(said)
    blocks.append(Bigs((Big("target bobweight", figures.mass("target_g"), "on every throw"),)))
    blocks.append(Side(((_crank(figures),), (_throws(figures),)), (0.55, 0.45)))
    told = words.weigh_in(forecast, job, show), words.drilling_alone(target_g, taken, show)
    blocks.append(Lines((words.ANGLES, *told, words.members(job), words.assumed(job, show)), "What it is for"))
    outcome = words.ordered(forecast, target_g, taken, show)
    blocks.append(Lines((outcome,), weight="plain" if data["needs_no_heavy_metal"] else "framed"))
    whose = job.id, job.title, about_words.line(job.about)
    return page("order", words.ORDER_TITLE, whose, data, tuple(blocks), (words.ORDER_CAUTION,), date, job.digest)


def _crank(figures: Figures) -> CardTable:
    rows: list[tuple[Cell, ...]] = [("layout", figures.value("layout"))]
    called = {"stroke_mm": "stroke", "rod_length_mm": "rod, between its centers"}
    rows += [(called[name], figures.length("lengths", name)) for name in figures.value("lengths")]
    rows += [(f"tolerance, {plane} plane", figures.limit("allowed_gmm", plane)) for plane in ("front", "rear")]
    return CardTable("crank", ("", ""), tuple(rows), "The crank", wide=0, close=True)


def _throws(figures: Figures) -> CardTable:
    rows = tuple(
        (
            one["throw"],
            figures.throw_at("throws", at, "angle_deg"),
            "" if one["z_mm"] is None else figures.length("throws", at, "z_mm"),
        )
        for at, one in enumerate(figures.value("throws"))
    )
    return CardTable("throws", ("throw", "angle", "from throw 1, rearwards"), rows, "Its throws", close=True)
