"""Tables as CSV whose cells no spreadsheet takes for formulas.

A cell that begins with a sign by which spreadsheets know a formula is given an apostrophe before
it, by which they know text; plain figures stay. Every cell is in quotes, so that a program that
divides at another sign than the comma does not make a new cell of what is within one. The signs
are those of OWASP, "CSV Injection" (https://owasp.org/www-community/attacks/CSV_Injection; from
memory), with their wide forms.
"""

from __future__ import annotations

import csv
import io
import re
from typing import Final

_BEGINS_A_FORMULA: Final = re.compile(
    "[\\s\0]*[-=+@|%\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}"
    "\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}]|[\t\r\n]"
)
_PLAIN_FIGURE: Final = re.compile(r"[+-]?[0-9]{1,18}(\.[0-9]{1,18})?")


def inert_cell(text: str) -> str:
    """The text as a spreadsheet takes it for text.

    >>> inert_cell("=HYPERLINK(1)"), inert_cell("-12.5"), inert_cell("- worn")
    ("'=HYPERLINK(1)", '-12.5', "'- worn")
    """
    if _BEGINS_A_FORMULA.match(text) and not _PLAIN_FIGURE.fullmatch(text):
        return f"'{text}"
    return text


def inert_csv(text: str) -> str:
    r"""The table with every cell inert; its first line, the names of the columns, without quotes.

    >>> inert_csv("name,value\r\na,=1+1\r\n")
    'name,value\r\n"a","\'=1+1"\r\n'
    """
    made = io.StringIO()
    names, cells = csv.writer(made), csv.writer(made, quoting=csv.QUOTE_ALL)
    for number, row in enumerate(csv.reader(io.StringIO(text, newline=""))):
        writer = cells if number else names
        writer.writerow([inert_cell(cell) for cell in row])
    return made.getvalue()
