"""The examination as a form to print and write on, for paper of either size (A4 or Letter).

One file that needs no other: it can be printed at a shop, or filled in on a telephone. The page
follows the plan: a gate before each stage that costs something, a line for each look, four boxes
for the four nothings, and a place for the number of the picture.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache
from importlib.resources import files as package_files
from itertools import combinations, groupby
from math import hypot

from markupsafe import Markup

from ledger.bench.forms import papers_form, people_form, works_form
from ledger.bench.markup import (
    BOX,
    NOTHINGS,
    field,
    fields,
    heading,
    joined,
    nothings_key,
    page,
)
from ledger.bench.plan import Look, Plan
from ledger.bench.steps import STAGES, Stage, StageWords, examination
from ledger.knowledge.catalogues import CatalogueView
from ledger.models import Instrument
from ledger.publish.outlines import OUTLINES

_ROUNDS, _LEAST_APART = 40, 4.7
_WIDE_FROM = 9  # looks at one position from which its block may be broken over two pages


def worksheet(
    plan: Plan, view: CatalogueView, parts: Collection[str], about: Instrument | None = None
) -> str:
    """The worksheet as a page of HTML.

    Args:
        plan: what is to be looked at.
        view: the catalogue, for the part map.
        parts: which parts are wanted, of those in ``forms.PARTS``.
        about: the instrument, if it is one that is recorded.
    """
    body: list[Markup] = []
    number = 1
    if "bench" in parts:
        body += [_opening(plan, view, about), *_stages(plan, _numbers(view))]
        number += len({look.stage for look in plan.looks})
    if "people" in parts:
        body.append(people_form(number))
        number += 1
    if "papers" in parts:
        body.append(papers_form(number))
        number += 3
    if "works" in parts:
        body.append(works_form(number, [look for look in plan.looks if look.is_gate]))
    name = about.name if about is not None else f"a {plan.kind_name}"
    return page(f"Worksheet: {name}", _style(), joined(body))


@cache
def _style() -> str:
    return (package_files("ledger.bench") / "worksheet.css").read_text(encoding="utf-8")


def _opening(plan: Plan, view: CatalogueView, about: Instrument | None) -> Markup:
    name = about.name if about is not None else ""
    left = joined(
        (
            Markup("<h1>Examination of a {}</h1>").format(plan.kind_name),
            Markup(
                '<p class="lead">Write what is there, not what it should be. Least invasive first: '
                "do not begin a stage before its gate is ticked. What is not looked at is written "
                "down as well.</p>"
            ),
            field("Instrument", name),
            field("Its id in the record", about.id if about is not None else ""),
            field("Taken to be by / model", _taken_to_be(about)),
            fields(("Owner (name or letter)", "Examined by", "Day", "Place")),
            fields(("Light, lens, lamps", "Camera; pictures from no. to no.")),
        )
    )
    return joined(
        (
            Markup('<div class="head"><div>{}</div>{}</div>').format(left, _map(view)),
            nothings_key(),
            _how_to_write(),
            _cautions(plan),
        )
    )


def _taken_to_be(about: Instrument | None) -> str:
    return " / ".join(part for part in (about.maker, about.model) if part) if about else ""


def _how_to_write() -> Markup:
    return Markup(
        '<div class="note wash"><p class="title">How to write it</p><dl>'
        "<dt>marks</dt><dd>glyph for glyph: <b>?</b> for one that cannot be read, <b>[38]</b> for "
        "either of two. Read it before you look at any table, and let a second person read it "
        "without having seen yours.</dd>"
        "<dt>figures</dt><dd>with unit and doubt: 42.6 mm ± 0.1, 7.52 k, 1 5/8 in; and with what it "
        "was measured</dd>"
        "<dt>dates</dt><dd>1955; 1955-06; 1955~ about; 1955? doubted; 1955/1957 between the two; "
        "../1957-06 not after; 1955/.. not before</dd>"
        "</dl></div>"
    )


def _cautions(plan: Plan) -> Markup:
    shown = joined(
        Markup('<div class="warn"><b>{}.</b> {} <i>First comes: {}.</i></div>').format(
            row.row.id.replace("-", " ").capitalize(), row.row.says, row.row.defer_to
        )
        for row in plan.cautions
    )
    title = heading("!", "What can hurt you or break the law")
    return Markup('{}<div class="warnings">{}</div>').format(title, shown)


def _numbers(view: CatalogueView) -> dict[str, int]:
    """The number of each position on the part map."""
    return {name: at for at, name in enumerate(view.names(), 1)}


def _map(view: CatalogueView) -> Markup:
    outline = joined(Markup('<path d="{}"/>').format(path) for path in OUTLINES.get(view.kind, ()))
    dots = joined(
        Markup(
            '<circle cx="{x}" cy="{y}" r="2.2"/><text x="{x}" y="{text}">{number}</text>'
        ).format(x=f"{x:.1f}", y=f"{y:.1f}", text=f"{y + 0.8:.1f}", number=number)
        for number, (x, y) in _spread(view, _numbers(view)).items()
    )
    return Markup(
        '<div class="map"><svg viewBox="0 0 100 102" role="img" aria-label="Part map: the numbers '
        'stand beside the positions below">{}{}</svg></div>'
    ).format(outline, dots)


def _spread(view: CatalogueView, numbers: dict[str, int]) -> dict[int, tuple[float, float]]:
    """Where each number is drawn: at its place, pushed off its neighbours so that it is read."""
    at = {
        number: [float(place[0]), float(place[1])]
        for name, number in numbers.items()
        if (place := view.positions[name].place) is not None
    }
    for _ in range(_ROUNDS):
        for one, other in combinations(at.values(), 2):
            across, down = other[0] - one[0], other[1] - one[1]
            apart = hypot(across, down)
            if apart < _LEAST_APART:
                push = (_LEAST_APART - apart) / 2
                sideways = across / apart if apart else 1.0
                downwards = down / apart if apart else 0.0
                for point, sign in ((one, -1), (other, 1)):
                    point[0] += sign * push * sideways
                    point[1] += sign * push * downwards
    return {number: (x, y) for number, (x, y) in at.items()}


def _stages(plan: Plan, numbers: dict[str, int]) -> Iterator[Markup]:
    words = {each.stage: each for each in examination().stages}
    number = 0
    for stage in STAGES:
        looks = plan.of(stage)
        if not looks:
            continue
        number += 1
        yield heading(str(number), stage.capitalize())
        yield Markup('<p class="lead">{}</p>').format(words[stage].says)
        yield _gate(words[stage], plan, stage)
        for position, group in groupby(looks, key=lambda look: look.position):
            yield _place(tuple(group), numbers.get(position.partition(".")[0], 0))


def _gate(words: StageWords, plan: Plan, stage: Stage) -> Markup:
    if not words.gate:
        return Markup("")
    earlier = STAGES[: STAGES.index(stage) + 1]
    asked = [
        look for look in plan.looks if look.is_gate and look.stage in earlier and not look.recorded
    ]
    rows = joined(Markup("<li>{} {}</li>").format(BOX, look.look_for) for look in asked)
    return Markup('<div class="gate"><h3>Gate</h3><p>{}</p><ul>{}</ul>{}</div>').format(
        words.gate, rows, fields(("Passed by", "Day and hour"))
    )


def _place(looks: tuple[Look, ...], number: int) -> Markup:
    """The block of one position, or of the steps that are recorded there."""
    first = looks[0]
    suffix = first.position.partition(".")[2]
    name = f"{first.place} ({first.position})" if suffix else first.place
    several = Markup("<small>several? copy the block for each</small>") if first.is_many else ""
    return Markup(
        '<section class="place{}"><header><small>{}</small><h3>{}</h3>{}</header>{}'
        '<table><thead class="told"><tr><th scope="col">look for</th><th scope="col">as seen</th>{}'
        '<th scope="col">picture</th></tr></thead><tbody>{}</tbody></table></section>'
    ).format(
        " long" if len(looks) >= _WIDE_FROM else "",
        number or "",
        name,
        several,
        _care(_shared_care(looks)),
        joined(Markup('<th scope="col">{}</th>').format(words) for words in NOTHINGS.values()),
        joined(map(_look_row, looks)),
    )


def _shared_care(looks: Iterable[Look]) -> Iterator[str]:
    """What is said once for a position: pictures, losses, cautions."""
    said: dict[str, None] = {}
    for look in looks:
        if not look.how:
            said.update(dict.fromkeys(_own_care(look)))
    yield from said


def _own_care(look: Look) -> Iterator[str]:
    if look.how:
        yield look.how
    if look.photograph:
        yield f"Photograph: {look.photograph}."
    if look.destroys:
        yield f"May destroy: {look.destroys}."
    if look.cautions:
        yield f"Caution: {', '.join(name.replace('-', ' ') for name in look.cautions)}."


def _care(said: Iterable[str]) -> Markup:
    text = " ".join(said)
    return Markup('<div class="care">{}</div>').format(text) if text else Markup("")


def _look_row(look: Look) -> Markup:
    """The line of one look; one with words of its own has them under its name."""
    boxes = joined(
        Markup('<td class="tick"><span class="box">{}</span></td>').format(letter)
        for letter in NOTHINGS
    )
    done = f"recorded before: {', '.join(look.recorded)}" if look.recorded else ""
    how = _care(_own_care(look)) if look.how else ""
    return Markup(
        '<tr{}><td class="look">{}{}</td><td class="done">{}</td>{}<td class="pic">no.</td></tr>'
    ).format(Markup(' class="step"') if look.how else "", look.look_for, how, done, boxes)
