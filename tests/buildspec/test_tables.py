"""CSV tables: the same as YAML gives, and the place of every cell."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.diagnostics import Place
from buildspec.schema import at
from buildspec.tables import _entries, _records, _Table, columns, read_table
from tests.buildspec.descriptions import HEAD, build_of, codes, reading_of

ENTRY = (at(("mass", "items")) or {})["items"]
HEADER = "id,name,mass [lb],x [in],z [in]\n"
BUILD = (
    HEAD
    + """mass:
  items: items.csv
  conditions: [{id: start_line}]
  design_condition: start_line
"""
)


def records_of(text: str) -> list[list[str]]:
    table = _Table("t.csv", ("t",), ENTRY)
    found = [[cell.text for cell in cells] for cells in _records(text, table)]
    assert table.problems == []
    return found


@given(
    st.lists(
        st.lists(st.text(alphabet='ab ,"\n\r;#é速', max_size=6), min_size=2, max_size=4),
        min_size=1,
        max_size=5,
    )
)
def test_cells_agree_with_the_csv_module(rows: list[list[str]]) -> None:
    """Everything quoted, as RFC 4180 allows; we trim the blanks around a text besides."""
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows(rows)
    theirs = list(csv.reader(io.StringIO(text.getvalue(), newline="")))
    assert records_of(text.getvalue()) == [[cell.strip() for cell in row] for row in theirs]


@given(
    st.lists(
        st.lists(st.text(alphabet="ab .é速-", min_size=1, max_size=6), min_size=2, max_size=4),
        min_size=1,
        max_size=5,
    )
)
def test_each_place_holds_its_cell(rows: list[list[str]]) -> None:
    text = "\n".join(",".join(row) for row in rows) + "\n"
    lines = text.splitlines()
    for cells in _records(text, _Table("t.csv", ("t",), ENTRY)):
        for cell in cells:
            if cell.text:
                start = cell.place.column - 1 + cell.inner
                assert lines[cell.place.line - 1][start : start + len(cell.text)] == cell.text


def test_places_with_quotes_comments_and_lines_inside_cells() -> None:
    text = (
        '# a comment, with "quotes"\n\nid,name,mass [lb],x [in],z [in]\r\n'
        'a,"A, ""the"" first",1, 2 ,3\r\nb,"two\nlines",1,2,x\n'
    )
    document = read_table(text, "t.csv", ENTRY, ("t",))
    assert document.data == [
        {
            "id": "a",
            "name": 'A, "the" first',
            "mass": {"value": "1 lb"},
            "x": {"value": "2 in"},
            "z": {"value": "3 in"},
        },
        {"id": "b", "name": "two\nlines", "mass": {"value": "1 lb"}, "x": {"value": "2 in"}},
    ]
    assert document.place(("t", 0, "name")) == Place("t.csv", 4, 3, 18)
    assert document.place(("t", 0, "x", "value")) == Place("t.csv", 4, 25, 1)
    assert [p.place for p in document.problems] == [Place("t.csv", 6, 12, 1)]


def test_a_table_says_the_same_as_yaml() -> None:
    header = (
        "id,name,group,mass [lb],mass.plus_minus [%],mass.basis,mass.source,x [in],x.plus_minus "
        "[mm],y [in],z [in],size.x [in],size.y [in],size.z [in],count,fluid,maturity\n"
    )
    table = header + (
        'engine,"Engine, dressed",engine,285,2,measured,scale,1 5/8,3,,14,20,18,22,1,,existing\n'
        "fuel,Fuel,,40,,,,90,,-3,12,,,,,true,\n"
    )
    written = BUILD.replace(
        "items.csv",
        """
    - id: fuel
      name: Fuel
      mass: 40 lb
      x: 90 in
      y: -3 in
      z: 12 in
      fluid: true
    - {id: engine, name: "Engine, dressed", group: engine, count: 1, maturity: existing,
       mass: {value: 285 lb, plus_minus: 2 %, basis: measured, source: scale},
       x: {value: 1 5/8 in, plus_minus: 3 mm}, z: 14 in, size: {x: 20 in, y: 18 in, z: 22 in}}""",
    )
    by_table = build_of(BUILD, items_csv=table)
    by_yaml = build_of(written)
    assert set(by_table.quantities) == set(by_yaml.quantities)
    for name, quantity in by_table.quantities.items():
        other = by_yaml.quantities[name]
        assert (
            quantity.si,
            quantity.half_width,
            quantity.basis,
            quantity.source,
            quantity.fraction,
        ) == (other.si, other.half_width, other.basis, other.source, other.fraction), name
    assert by_table.fingerprint != by_yaml.fingerprint  # the order of a list counts
    table = header + "".join(
        sorted(table.splitlines(keepends=True)[1:], key=lambda line: "engine" in line)
    )
    assert build_of(BUILD, items_csv=table).fingerprint == by_yaml.fingerprint


@pytest.mark.parametrize(
    "text",
    [
        HEADER + "a,A,1,2,3\n",
        "\ufeff" + HEADER + "a,A,1,2,3\n",
        HEADER + "a,A,1,2,3",
        "# by hand\n" + HEADER + "\n# more\na,A,1,2,3\n,,,,\n",
        "id,name,mass [lb],x [in],z [in],,\na,A,1,2,3,,\n",
        HEADER.replace("\n", "\r\n") + "a,A,1,2,3\r\n",
        'id , name,"mass [lb]",x [in] ,z[in]\na, A ," 1 ",2,3\n',
        "id,name,mass [oz],x [in],z [in]\na,A,16,2,3\n",
    ],
)
def test_tables_as_spreadsheets_write_them(text: str) -> None:
    build = build_of(BUILD, items_csv=text)
    assert build.quantities["mass.items.a.mass"].si == pytest.approx(0.45359237, rel=1e-12)


def test_a_value_of_a_table_remembers_where_it_stands() -> None:
    build = build_of(BUILD, items_csv=HEADER + 'a,A,"1.50",2,3\n')
    quantity = build.quantities["mass.items.a.mass"]
    assert quantity.place == Place("items.csv", 2, 5, 6)
    assert quantity.written == "1.50 lb"
    assert build.places["mass.items.a.name"] == Place("items.csv", 2, 3, 1)
    assert build.places["mass.items.a"] == Place("items.csv", 2, 1, 1)


def test_a_fault_of_a_column_is_said_once() -> None:
    rows = "".join(f"a{n},A,1,2,3\n" for n in range(50))
    assert codes(BUILD, items_csv=HEADER.replace(" [lb]", "") + rows) == ["table.unit-missing"]
    assert codes(BUILD, items_csv=HEADER.replace("[lb]", "[in]") + rows) == ["quantity.unit-wrong"]
    assert codes(BUILD, items_csv=HEADER.replace("name", "nam") + rows) == [
        "table.column-missing",
        "table.column-unknown",
    ]


def test_a_faulty_row_keeps_its_id_for_those_who_refer_to_it() -> None:
    build = BUILD.replace("{id: start_line}", "{id: start_line, without: [b]}")
    assert codes(build, items_csv=HEADER + "a,A,1,2,3\nb,B,1\n") == ["table.row-short"]


@pytest.mark.parametrize("sign", [";", "\t", "|"])
def test_other_separators_are_told(sign: str) -> None:
    assert codes(BUILD, items_csv=HEADER.replace(",", sign)) == ["table.separator"]


def test_the_columns_follow_from_the_schema() -> None:
    known = columns(ENTRY)
    assert known["size.x"].path == ("size", "x", "value")
    assert known["size.x.plus_minus"].path == ("size", "x", "plus_minus")
    assert known["fluid"].form == "scalar"
    assert columns((at(("egress", "activities")) or {})["items"])["after"].form == "list"


def test_a_list_in_a_cell() -> None:
    table = "id,text,duration [s],after\nstop,Stop,2,\nbelts,Belts,3,stop\nout,Out,4,stop  belts\n"
    egress = "egress: {activities: steps.csv, scenarios: [{id: upright, title: Upright}]}\n"
    build = build_of(HEAD + egress, steps_csv=table)
    assert build.places["egress.activities.out.after.1"] == Place("steps.csv", 4, 17, 5)


@pytest.mark.parametrize(
    ("cell", "entries"),
    [
        ("stop  belts", ["stop", "belts"]),
        ("stop; belts", ["stop", "belts"]),
        (" belted; eyes taped ;suited;", ["belted", "eyes taped", "suited"]),
        (";;", []),
        ("", []),
    ],
)
def test_entries_that_hold_spaces_stand_between_semicolons(cell: str, entries: list[str]) -> None:
    assert [m.group() for m in _entries(cell)] == entries


def test_problems_of_a_table_are_all_found_at_once() -> None:
    table = HEADER + "a,A,x,2,3\nb,B,1,2\na,C,-1,2,9 lb\n"
    found = [(p.code, p.place.line) for p in reading_of(BUILD, items_csv=table).problems]
    assert found == [
        ("table.cell", 2),
        ("table.row-short", 3),
        ("id.repeated", 4),
        ("quantity.range", 4),
        ("table.cell", 4),
    ]
