from __future__ import annotations

import gc
import json
import sqlite3
import weakref
from contextlib import closing
from dataclasses import asdict, replace

import pytest

from ledger.errors import PublicationError
from ledger.findings import Finding
from ledger.holdings import schema_file
from ledger.publish.sitedb import (
    DATABASE_FILE,
    METADATA_FILE,
    SETTINGS_FILE,
    ExhibitFile,
    publish_site,
)
from ledger.publish.tables import metadata_of, read_tables


def rows(folder, sql, *parameters):
    with closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return database.execute(sql, parameters).fetchall()


def test_the_site_is_a_folder_of_three_files_that_anybody_may_read(site_folder):
    names = {path.name for path in site_folder.iterdir()}
    assert names == {DATABASE_FILE, METADATA_FILE, SETTINGS_FILE}
    assert site_folder.stat().st_mode & 0o777 == 0o755


def test_the_settings_close_the_file_and_any_sql(site_folder):
    settings = json.loads((site_folder / SETTINGS_FILE).read_text())
    assert settings["default_allow_sql"] is False
    assert settings["allow_download"] is False
    assert settings["allow_csv_stream"] is False


def test_the_report_can_be_read_back_from_the_site(site_folder, report):
    ((body,),) = rows(
        site_folder, "select body from report where instrument = ?", report.instrument
    )
    assert json.loads(body) == json.loads(json.dumps(asdict(report)))


def test_an_instrument_stands_with_both_its_ends_and_what_is_open(site_folder, report):
    found = rows(
        site_folder,
        "select completed_not_before, completed_not_after, conflicts, recorded_changes,"
        " open_surprises, open_questions, positions, positions_first_fitted, invented"
        " from instrument where id = ?",
        report.instrument,
    )
    assert found == [("1976-03-19", None, 2, 1, 1, 1, 3, 1, "yes")]


def test_ends_are_the_widest_of_all_leading_accounts(tmp_path, publication, report):
    (dating,) = report.datings
    later = replace(
        dating,
        account="account-2",
        not_before=replace(dating.not_before, date="1977-01-01"),
        not_after=replace(dating.not_after, date="1980-01-01"),
    )
    first = replace(dating, not_after=replace(dating.not_after, date="1979-01-01"))
    both = replace(
        report,
        datings=(first, later),
        accounts=tuple(replace(account, is_leading=True) for account in report.accounts),
    )
    folder = publish_site(tmp_path / "s", replace(publication, reports=[both]))
    sql = "select completed_not_before, completed_not_after from instrument"
    assert rows(folder, sql) == [("1976-03-19", "1980-01-01")]


def test_every_link_leads_somewhere(site_folder):
    assert rows(site_folder, "select * from pragma_foreign_key_check()") == []


def test_support_unfolds_to_a_line_with_its_entry_and_to_a_row_of_a_pack(site_folder):
    found = rows(
        site_folder,
        "select premise_kind, line.sequence, reference.source from support"
        " left join line on line.key = support.line"
        " left join reference on reference.id = support.reference"
        " where finding = 'corbel-lap-steel/reading/pot' order by premise_kind",
    )
    assert found == [("line", 2, None), ("reference", None, "invented for this example")]


def test_no_body_and_no_recorder_of_an_entry_is_published(site_folder):
    content = (site_folder / DATABASE_FILE).read_bytes()
    assert b"never published" not in content
    assert b"who is named nowhere" not in content


def test_no_serial_number_of_an_example_is_published(site_folder):
    content = (site_folder / DATABASE_FILE).read_bytes()
    assert b"90417" not in content


def test_an_example_that_is_itself_on_the_site_is_said_to_be(site_folder):
    sql = "select example, is_published_here from timeline_example order by example"
    assert rows(site_folder, sql) == [("corbel-lap-steel", "yes"), ("corbel-other", "no")]


def test_a_file_that_is_kept_back_leaves_its_name_without_content(tmp_path, publication):
    folder = publish_site(tmp_path / "s", replace(publication, exhibits=[]))
    assert rows(folder, "select media_type, size_bytes from exhibit") == [("not published", 0)]
    assert rows(folder, "select * from exhibit_file") == []


def test_an_exhibit_takes_its_caption_from_the_line_that_holds_it(site_folder):
    assert rows(site_folder, "select caption from exhibit") == [("The back of the volume pot",)]


def test_the_same_input_gives_the_same_bytes(tmp_path, publication):
    one = publish_site(tmp_path / "one", publication)
    other = publish_site(tmp_path / "other", publication)
    for name in (DATABASE_FILE, METADATA_FILE, SETTINGS_FILE):
        assert (one / name).read_bytes() == (other / name).read_bytes()


def test_the_index_finds_words_in_their_other_forms(site_folder):
    sql = "select count(*) from passage_fts where passage_fts match ?"
    assert rows(site_folder, sql, '"replacing"') == rows(site_folder, sql, '"replaced"')
    assert rows(site_folder, sql, '"replaced"') != [(0,)]


def failing(items, after):
    for number, item in enumerate(items):
        if number == after:
            raise OSError("the disk is full")
        yield item


@pytest.mark.parametrize("part", ["reports", "entries", "exhibits", "packs"])
def test_a_failure_midway_leaves_nothing_behind(tmp_path, publication, part):
    items = list(getattr(publication, part))
    broken = replace(publication, **{part: failing([*items, items[0]], len(items))})
    with pytest.raises(PublicationError, match="the disk is full"):
        publish_site(tmp_path / "site", broken)
    assert list(tmp_path.iterdir()) == []


def test_a_failure_midway_leaves_the_old_site_as_it_was(site_folder, publication):
    before = {path.name: path.read_bytes() for path in site_folder.iterdir()}
    broken = replace(publication, reports=failing(publication.reports, 1))
    with pytest.raises(PublicationError):
        publish_site(site_folder, broken)
    assert {path.name: path.read_bytes() for path in site_folder.iterdir()} == before
    assert [path.name for path in site_folder.parent.iterdir()] == [site_folder.name]


def test_a_fault_of_the_program_leaves_nothing_behind_either(tmp_path, publication):
    def faulty():
        raise ZeroDivisionError
        yield

    with pytest.raises(ZeroDivisionError):
        publish_site(tmp_path / "site", replace(publication, reports=faulty()))
    assert list(tmp_path.iterdir()) == []


def test_a_published_site_is_replaced_by_the_next(site_folder, publication, report):
    renamed = replace(report, name="Another name")
    publish_site(site_folder, replace(publication, reports=[renamed]))
    assert rows(site_folder, "select name from instrument") == [("Another name",)]


def test_a_folder_with_something_else_in_it_is_left_alone(tmp_path, publication):
    (tmp_path / "letter.txt").write_text("dear")
    with pytest.raises(PublicationError, match="not a site"):
        publish_site(tmp_path, publication)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_file_is_not_taken_for_a_folder(tmp_path, publication):
    (tmp_path / "site").write_text("x")
    with pytest.raises(PublicationError, match="is a file"):
        publish_site(tmp_path / "site", publication)


def test_a_finding_that_rests_on_a_line_nobody_gave_is_refused(tmp_path, publication, report):
    dangling = Finding("f", "bound", "From nowhere.", "mark", ("line:not-there",))
    broken = replace(report, findings=(*report.findings, dangling))
    with pytest.raises(PublicationError, match="support name a line that is not there"):
        publish_site(tmp_path / "s", replace(publication, reports=[broken]))
    assert list(tmp_path.iterdir()) == []


def test_a_row_that_a_report_used_is_there_although_its_pack_was_not_given(
    tmp_path, publication, report
):
    (row,) = report.references
    both = (row, replace(row, id="corbel/pan", section="timelines"))
    used = replace(report, packs=(), references=both)
    folder = publish_site(tmp_path / "s", replace(publication, packs=[], reports=[used]))
    found = rows(folder, "select id, pack from reference order by id")
    assert found == [("corbel/pan", None), ("corbel/source-304", None)]


def test_a_supposition_that_a_row_holds_for_a_part_leads_to_the_row(tmp_path, publication, report):
    shelf = replace(report.suppositions[-1], id="holds:corbel/pan#pot.volume", subject="pot.volume")
    more = replace(report, suppositions=(*report.suppositions, shelf))
    folder = publish_site(tmp_path / "s", replace(publication, reports=[more]))
    sql = "select reference from supposition where subject = 'pot.volume' and kind = 'holds'"
    assert rows(folder, sql) == [("corbel/pan",)]


def test_where_a_report_names_a_finding_the_tables_say_its_sentence(tmp_path, publication, report):
    named = replace(report, conclusion=("bound/pot",))
    folder = publish_site(tmp_path / "s", replace(publication, reports=[named]))
    sql = "select conclusion from instrument"
    assert rows(folder, sql) == [("Completed not before 14 March 1976.",)]


def test_no_report_is_held_once_the_next_is_asked_for(tmp_path, publication, report):
    held = []
    made = []

    def one_at_a_time():
        for number in range(4):
            gc.collect()
            # The one just written may still be in the caller's hand; none before it may.
            held.append(sum(1 for reference in made[:-1] if reference() is not None))
            fresh = report_with_room(report, f"number-{number}")
            made.append(weakref.ref(fresh.conclusion[0]))
            yield fresh
            del fresh

    publish_site(tmp_path / "s", replace(publication, reports=one_at_a_time()))
    assert held == [0, 0, 0, 0]


class Sentence(str):
    """A sentence that can be watched: plain text takes no weak reference."""

    __slots__ = ("__weakref__",)


def report_with_room(report, name):
    return replace(report, instrument=name, conclusion=(Sentence("Watched."),))


def test_a_picture_is_kept_with_its_small_one(site_folder, picture_bytes):
    assert rows(site_folder, "select content, thumbnail from exhibit_file") == [
        (picture_bytes, picture_bytes)
    ]


def test_an_exhibit_without_a_line_says_that_it_has_no_caption(tmp_path, publication):
    lonely = ExhibitFile("ab" * 32, "image/png", b"x")
    folder = publish_site(
        tmp_path / "s", replace(publication, exhibits=[*publication.exhibits, lonely])
    )
    sql = "select caption from exhibit where sha256 = ?"
    assert rows(folder, sql, "ab" * 32) == [("An exhibit without a caption",)]


def test_every_table_of_the_schema_says_what_a_row_is_and_names_columns_it_has(site_folder):
    tables = read_tables(schema_file("site.sql").read_text())
    names = {
        name
        for (name,) in rows(
            site_folder,
            "select name from sqlite_master where type = 'table' and name not like 'passage_fts%'",
        )
    }
    assert {table.name for table in tables} == names
    for table in tables:
        columns = {row[1] for row in rows(site_folder, f"pragma table_info({table.name})")}
        named = {
            *table.facets,
            *table.columns,
            *table.links,
            *([table.label] if table.label else []),
        }
        assert table.about
        assert named <= columns, table.name


def test_a_table_that_says_nothing_of_itself_is_refused():
    with pytest.raises(PublicationError, match="what a row of silent is"):
        read_tables("CREATE TABLE silent (\n    id INTEGER\n) STRICT;")


def test_the_metadata_describe_every_table_and_hide_the_closed_ones():
    tables = read_tables(schema_file("site.sql").read_text())
    described = metadata_of(tables, "T")["databases"]["witnessmark"]["tables"]
    assert described["report"]["hidden"] is True
    assert described["instrument"]["label_column"] == "name"
    assert "hidden" not in described["line"]


def test_every_column_that_names_a_row_elsewhere_is_found_by_an_index(site_folder):
    tables = [table.name for table in read_tables(schema_file("site.sql").read_text())]
    for table in tables:
        keys = {row[3] for row in rows(site_folder, f"pragma foreign_key_list({table})")}
        first = {row[1] for row in rows(site_folder, f"pragma table_info({table})") if row[5]}
        for _, name, *_ in rows(site_folder, f"pragma index_list({table})"):
            first.add(rows(site_folder, f"pragma index_info({name})")[0][2])
        assert keys <= first, table
