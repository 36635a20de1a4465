"""What to type instead: every suggestion must be readable and mean what its sentence says."""

import pytest

from ledger.basis.date_wordings import advice_on
from ledger.basis.edtf import read_date

WORDINGS = {
    "circa 1955": "1955~",
    "C. 1955": "1955~",
    "ca 1955-06": "1955-06~",
    "about 1955": "1955~",
    "around 1955": "1955~",
    "approx. 1955": "1955~",
    "circa 1950s": "195X~",
    "1950s": "195X",
    "the 1950's": "195X",
    "early 1950s": "195X [1950..1954]",
    "mid-1950s": "195X [1953..1957]",
    "late 1950s": "195X [1955..1959]",
    "1956-57": "[1956..1957] 1956/1957",
    "1955 - 1957": "[1955..1957] 1955/1957",
    "1955\u20131957": "[1955..1957] 1955/1957",
    "1955/57": "[1955..1957] 1955/1957",
    "1955 to 1957": "[1955..1957] 1955/1957",
    "between 1955 and 1957": "[1955..1957] 1955/1957",
    "1955 or 1956": "[1955,1956]",
    "1955, 1956": "[1955,1956]",
    "before 1955": "[..1954] [..1955]",
    "pre-1955": "[..1954] [..1955]",
    "after 1955": "[1956..] [1955..]",
    "not after 1955-03": "[..1955-03]",
    "by 1955": "[..1955]",
    "since 1955": "[1955..]",
    "not before 1955": "[1955..]",
    "3 March 1956": "1956-03-03",
    "March 3rd, 1956": "1956-03-03",
    "1956 Mar 3": "1956-03-03",
    "Sept. 1956": "1956-09",
    "1956 September": "1956-09",
    "Autumn 1956": "1956-23 1956-27",
    "fall of 1956": "1956-23 1956-27",
    "Q3 1956": "1956-35",
    "1956 q3": "1956-35",
    "12/3/1956": "1956-12-03 1956-03-12",
    "25.12.1956": "1956-12-25",
    "3/3/1956": "1956-03-03",
    "3/1956": "1956-03",
    "1956/3": "1956-03",
    "1956-3-12": "1956-03-12",
    "1956.03.12": "1956-03-12",
    "19560312": "1956-03-12",
    "1955 (?)": "1955?",
    "1955?~": "1955%",
    "19??": "19XX",
    "195_": "195X",
    "195u": "195X",
    "1955-": "1955/.. 1955/",
    "y17e7": "Y17E7",
    "195x": "195X",
    "100 BC": "-0099",
    "1 B.C.": "0000",
    "week 12 1963": "[1963-03-17..1963-03-23]",
    "1956-W32": "[1963-03-17..1963-03-23]",
    "'56": "XX56",
    "[1667, 1668 .. 1670]": "[1667,1668..1670]",
    " 1955": "1955",
    "undated": "",
    "n.d.": "",
    "../..": "",
    "31/31/1956": "",
}


@pytest.mark.parametrize(("text", "forms"), WORDINGS.items(), ids=WORDINGS)
def test_a_common_wording_is_answered_with_what_to_type(text, forms):
    wording = advice_on(text)
    assert wording is not None
    assert wording.suggestions == tuple(forms.split())
    assert not wording.sentence.endswith(".")
    for suggestion in wording.suggestions:
        assert suggestion in wording.sentence
        assert str(read_date(suggestion)) == suggestion


@pytest.mark.parametrize("text", ["1957-55", "first of never", "1955X", "MCMLV"])
def test_where_nothing_is_known_to_be_meant_no_form_is_offered(text):
    wording = advice_on(text)
    assert wording is None or not set(wording.suggestions) - {text}
