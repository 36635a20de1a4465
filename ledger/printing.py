"""A report and a chain as text for a person: set in a terminal, plain when piped."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, ConsoleRenderable, RenderHook, RenderResult
from rich.markup import escape
from rich.padding import Padding
from rich.segment import Segment
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from ledger.basis.visible import visible
from ledger.findings import End, EventDating, Report
from ledger.knowledge.catalogues import CatalogueView
from ledger.knowledge.packs import Packs
from ledger.reason.dispute_wording import Section
from ledger.reason.explain import Explanation, Node

PLAIN_WIDTH = 100
ACCOUNTS_PRINTED = 6
READINGS_PRINTED = 12
DOUBTFUL_PRINTED = 6
ADVICE_PRINTED = 8
SHORT_CELL = 44  # glyphs that a cell has room for in a row of an answer


def console() -> Console:
    """Where to print: the terminal, or plain text of a steady width when piped."""
    found = Console(highlight=False)
    if not found.is_terminal:
        found = Console(highlight=False, width=PLAIN_WIDTH)
    found.push_render_hook(_InPlainSight())
    return found


class _InPlainSight(RenderHook):
    """Shows of all that is printed what would not be seen, or what a terminal would obey."""

    def process_renderables(self, renderables: list[ConsoleRenderable]) -> list[ConsoleRenderable]:
        return [_Shown(renderable) for renderable in renderables]


@dataclass(frozen=True, slots=True)
class _Shown:
    renderable: ConsoleRenderable

    def __rich_console__(self, out: Console, options: ConsoleOptions) -> RenderResult:
        for segment in out.render(self.renderable, options):
            text, style, control = segment
            yield segment if control else Segment(visible(text), style)


def print_report(out: Console, report: Report) -> None:
    """Print everything a reader needs, conclusion first."""
    sentences = {finding.id: finding.sentence for finding in report.findings}
    invented = " (an invented example)" if report.invented else ""
    out.print(Text(f"{report.name}{invented}", style="bold"))
    made = ", ".join(text for text in (report.kind_name, report.maker, report.model) if text)
    out.print(f"{escape(made)}; record up to entry {report.sequence}")
    _paragraphs(out, "What can be said", (sentences[name] for name in report.conclusion))
    _paragraphs(out, "What it is said to be", (sentences[name] for name in report.identity))
    _datings(out, report)
    print_chances(out, report)
    _positions(out, report)
    _paragraphs(out, "Likely swaps, likeliest first", (s.sentence for s in report.swaps))
    _paragraphs(
        out, "What cannot all be true", (f"[{c.id}] {c.sentence}" for c in report.conflicts)
    )
    _accounts(out, report)
    _readings(out, report)
    _paragraphs(
        out, "Surprises nothing explains", (s.sentence for s in report.surprises if s.is_open)
    )
    _paragraphs(out, "Open questions", report.questions)
    _paragraphs(out, "Challenges on record", _challenges(report))
    _paragraphs(
        out,
        "Not looked at, or to look at again (not ranked by what it would tell)",
        (
            f"{look.sentence}{f' Caution: {look.loses}.' if look.loses else ''}"
            for look in report.looks
        ),
    )
    _paragraphs(out, "Taken for granted", report.taken_for_granted)
    print_weights(out, report)
    print_advice(out, report)
    _paragraphs(out, "Reference rows used", _rows_used(report))
    _paragraphs(
        out,
        "Cautions",
        (f"{c.about}: {c.says} ({c.defer_to})" for c in report.cautions),
    )
    out.print()
    out.print(
        "Every statement has a chain under it: "
        f"witnessmark explain {report.instrument}/completed.not-before.account.1"
    )


def print_chances(out: Console, report: Report) -> None:
    """Print how likely dates, parts and what is supposed are, once all is weighed together."""
    chances = report.chances
    if chances is None:
        return
    _heading(out, "How likely, all evidence weighed together")
    out.print(Padding(Text(chances.note), (0, 0, 0, 2), expand=False))
    for sentence in (*(d.sentence for d in chances.dates), *(p.sentence for p in chances.parts)):
        _item(out, sentence)
    doubtful = sorted(chances.suppositions, key=lambda each: (each.chance, each.supposition))
    for supposed in doubtful[:DOUBTFUL_PRINTED]:
        _item(out, supposed.sentence)
    left = len(doubtful) - DOUBTFUL_PRINTED
    if left > 0:
        _beneath(out, f"and {left} more that are likelier to hold, in the JSON report.")


def print_advice(out: Console, report: Report) -> None:
    """Print which examinations would tell most, where it was asked for, the least invasive first."""
    told = [each.sentence for each in report.advice if each.is_to_be_had]
    _paragraphs(out, "What to examine next, by what it would tell", told[:ADVICE_PRINTED])
    left = len(told) - ADVICE_PRINTED
    if left > 0:
        _beneath(out, f"and {left} more: witnessmark examine-next {report.instrument} --all")


def print_weights(out: Console, report: Report) -> None:
    """Print what each line is worth and what sways the conclusions, where it was asked for."""
    chances = report.chances
    if chances is None or not (chances.weights or chances.sways):
        return
    _paragraphs(out, "What sways the conclusions most", (s.sentence for s in chances.sways))
    _paragraphs(
        out,
        "What each line is worth, by leaving it out (likelihood ratio; words by the ENFSI scale)",
        (weight.sentence for weight in chances.weights),
    )


def _rows_used(report: Report) -> list[str]:
    """The rows that the report drew on, by pack; those of practice are starting values."""
    packs: dict[str, list[str]] = {}
    for row in report.references:
        pack, _, name = row.id.partition("/")
        packs.setdefault(pack, []).append(name)
    return [f"{pack}: {', '.join(names)}" for pack, names in packs.items()]


def _heading(out: Console, text: str) -> None:
    out.print()
    out.print(Text(text, style="bold underline"))


def _paragraphs(out: Console, heading: str, texts: Iterable[str]) -> None:
    given = list(texts)
    if not given:
        return
    _heading(out, heading)
    for text in given:
        _item(out, text)


def _datings(out: Console, report: Report) -> None:
    _heading(out, "Dates, both ends")
    leading = sum(account.is_leading for account in report.accounts)
    for event in dict.fromkeys(dating.event for dating in report.datings):
        datings = [dating for dating in report.datings if dating.event == event]
        _event(out, datings, several=leading > 1)


def _event(out: Console, datings: list[EventDating], *, several: bool) -> None:
    """Both ends of one event; what several accounts share is printed once."""
    for side in ("not_before", "not_after"):
        ends: dict[str, tuple[End, list[str]]] = {}
        for dating in datings:
            end: End = getattr(dating, side)
            ends.setdefault(end.sentence, (end, []))[1].append(dating.account)
        for end, accounts in ends.values():
            shared = len(accounts) == len(datings)
            under = f" ({_numbers(accounts)})" if several and not shared else ""
            _item(out, f"{end.sentence}{under}")
            # What moves the later events is what moves completion: it is printed there.
            if datings[0].event == "completed":
                told = [shift.sentence for shift in end.shifts]
                for sentence in (*told, *(more.sentence for more in end.further)):
                    _beneath(out, sentence)
    for dating in datings:
        if len(dating.possible) > 1:
            spans = "; ".join(f"{a or 'any time'} to {b or 'any time'}" for a, b in dating.possible)
            under = f" ({_numbers([dating.account])})" if several else ""
            _beneath(out, f"Within that only{under}: {spans}.")


def _numbers(accounts: list[str]) -> str:
    noun = "account" if len(accounts) == 1 else "accounts"
    return f"{noun} {', '.join(account.partition('.')[2] for account in accounts)}"


def _item(out: Console, text: str) -> None:
    out.print(Padding(Text(f"- {text}"), (0, 0, 0, 2), expand=False))


def _beneath(out: Console, text: str) -> None:
    out.print(Padding(Text(text, style="dim"), (0, 0, 0, 6), expand=False))


def _positions(out: Console, report: Report) -> None:
    _heading(out, "Position by position")
    table = Table(show_header=True, box=None, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("Position", "State", "Why"):
        table.add_column(column, overflow="fold")
    untouched: list[str] = []
    for position in report.positions:
        if position.states == ("not examined",):
            untouched.append(position.name)
        else:
            table.add_row(
                escape(position.name), escape(position.label), escape(" ".join(position.reasons))
            )
    if table.row_count:
        out.print(Padding(table, (0, 0, 0, 2), expand=False))
    if untouched:
        out.print(
            Padding(Text(f"Not examined: {', '.join(untouched)}."), (0, 0, 0, 2), expand=False)
        )


def _accounts(out: Console, report: Report) -> None:
    _heading(out, "Ways to read the evidence")
    out.print(Padding(Text(report.completeness), (0, 0, 0, 2), expand=False))
    for account in report.accounts[:ACCOUNTS_PRINTED]:
        lead = "leading; " if account.is_leading else ""
        text = f"[{account.id}] {account.sentence} ({lead}{account.odds_note})"
        _item(out, text)
    left = len(report.accounts) - ACCOUNTS_PRINTED
    if left > 0:
        out.print(Padding(Text(f"and {left} more in the JSON report."), (0, 0, 0, 2), expand=False))


def _readings(out: Console, report: Report) -> None:
    if not report.readings:
        return
    _heading(out, "Marks and how they can be read")
    for mark in dict.fromkeys(reading.line for reading in report.readings):
        given = [reading for reading in report.readings if reading.line == mark]
        _item(out, f"{mark}: “{given[0].text}”. {given[0].reason}")
        for reading in given[:READINGS_PRINTED] if len(given) > 1 else ():
            use = "" if reading.is_used else "not used: "
            days = " or ".join(f"{a or '..'} to {b or '..'}" for a, b in reading.days)
            told = f" ({days})" if days else ""
            standing = f" {reading.standing}" if reading.standing else ""
            _beneath(out, f"{use}{reading.reading}{told}.{standing}")
        left = len(given) - READINGS_PRINTED
        if left > 0:
            _beneath(out, f"and {left} more readings in the JSON report.")


def print_supposed(
    out: Console, report: Report, falls: Iterable[str], stands: Iterable[str]
) -> None:
    """Print what is supposed, what would fall and what would stand."""
    _title(out, report)
    _paragraphs(out, "Supposed, for the sake of argument", report.supposing)
    if not report.accounts:
        sentences = {finding.id: finding.sentence for finding in report.findings}
        _paragraphs(out, "This cannot be", (sentences[name] for name in report.conclusion))
        return
    _paragraphs(out, "What falls", list(falls) or ("Nothing that the report says.",))
    _paragraphs(out, "What stands all the same", stands)
    out.print()
    out.print("Nothing of this was recorded.")


def print_challenges(out: Console, report: Report) -> None:
    """Print the challenges on record, each with how many answers it has."""
    _title(out, report)
    counted = [
        f"{report.instrument}/{each.id}: “{each.says}” "
        f"({len(each.answers)} {'answer' if len(each.answers) == 1 else 'answers'} on record)"
        for each in report.challenges
    ]
    _paragraphs(out, "Challenges", counted or ("None is on record.",))


def _challenges(report: Report) -> list[str]:
    """The challenges among the lines: any report has these, only a full one has what to say."""
    raised = (each for each in report.lines if each.section == "challenges")
    return [f"{report.instrument}/{each.id}: {each.sentence}" for each in raised]


def print_answer(out: Console, report: Report, sections: Iterable[Section]) -> None:
    """Print an answer to a challenge, section by section."""
    _title(out, report)
    for section in sections:
        _paragraphs(out, section.heading, section.items)


def _title(out: Console, report: Report) -> None:
    invented = " (an invented example)" if report.invented else ""
    out.print(Text(f"{report.name}{invented}", style="bold"))


def print_explanation(out: Console, explanation: Explanation) -> None:
    """Print a chain as a tree, then all that it supposes."""
    tree = Tree(_label(explanation.top))
    _grow(tree, explanation.top)
    out.print(tree)
    if explanation.supposes:
        out.print()
        out.print(Text("This supposes that", style="bold"))
        for supposed in explanation.supposes:
            text = (
                f"- {supposed.sentence.rstrip('.')} [{supposed.id}; chance before the evidence "
                f"{supposed.prior:.2f}, from {supposed.prior_from}]"
            )
            out.print(Padding(Text(text), (0, 0, 0, 2), expand=False))


def _grow(tree: Tree, node: Node) -> None:
    for below in node.below:
        _grow(tree.add(_label(below)), below)


def _label(node: Node) -> Text:
    text = Text(node.text)
    name = node.id.removeprefix("line:").removeprefix("reference:")
    place = f"; {node.place}" if node.place else ""
    text.append(f"  [{node.kind}: {name}{place}]", style="dim")
    return text


def print_catalogue(out: Console, view: CatalogueView) -> None:
    """Print the positions of a kind: what a sheet calls them, and what can be seen there."""
    out.print(Text(f"{view.name} ({view.kind})", style="bold"))
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("Position", "Name", "Link to parent", "To see it", "What can be checked"):
        table.add_column(column, overflow="fold")
    for row in view.positions.values():
        parent = f" {row.parent}" if row.parent else ""
        suffix = ".1 ..." if row.many else ""
        table.add_row(
            f"{row.id}{suffix}",
            escape(row.name),
            f"{row.link}{parent}",
            row.examine,
            escape(", ".join(row.checks)),
        )
    out.print(table)
    for union in view.unions:
        out.print(f"Union of {union.between[0]} and {union.between[1]}: {escape(union.how)}")


def print_table(out: Console, columns: Iterable[str], rows: Iterable[Iterable[str]]) -> None:
    """Print an answer as a table, with what is too long for a column beneath its row."""
    names = [column.replace("_", " ") for column in columns]
    told = [tuple(row) for row in rows]
    longest = [max(len(row[place]) for row in (tuple(names), *told)) for place in range(len(names))]
    short = [place for place, width in enumerate(longest) if width <= SHORT_CELL]
    for row in (tuple(names), *told):
        style = "bold" if row == tuple(names) else ""
        cells = "  ".join(row[place].ljust(longest[place]) for place in short).rstrip()
        out.print(Text(cells, style=style), soft_wrap=True)
        for place, cell in enumerate(row):
            if place not in short and cell:
                out.print(Padding(Text(cell, style=style), (0, 0, 0, 4)))
    if not told:
        out.print("No rows.")


def print_words(out: Console, packs: Packs) -> None:
    """Print the kinds of instrument and the kinds of trace."""
    _heading(out, "Kinds of instrument")
    for kind in packs.kinds():
        _item(out, f"{kind}: {packs.catalogue(kind).name}")
    _heading(out, "Kinds of trace")
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("Trace", "What it is", "Against service part", "Against matched part", "Joins"):
        table.add_column(column, overflow="fold")
    for name in packs.trace_kind_names():
        found = packs.trace_kind(name)
        if found is not None:
            row = found.row
            table.add_row(
                row.id,
                escape(row.name),
                f"{row.against_service[0]:g} to {row.against_service[1]:g}",
                f"{row.against_matching[0]:g} to {row.against_matching[1]:g}",
                "one occasion" if row.joins else "",
            )
    out.print(table)
    _beneath(
        out,
        "The figures are how many times likelier the trace is on a part that left the works than "
        "on a replacement: common practice, no source, starting values.",
    )
