"""Tables in terminals of several widths."""

from __future__ import annotations

from operator import itemgetter

import pytest
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from impactcut.cli.telling.layout import Column, print_table

COLUMNS: tuple[Column[list[str]], ...] = (
    Column("Hit", itemgetter(0), "right"),
    Column("Clip", itemgetter(1), breaks=True),
    Column("Contact", itemgetter(2)),
    Column("Shows to", itemgetter(3), breaks=True),
    Column("Why", itemgetter(4), breaks=True),
)
WHY = "the striker leaps 21 px at 1920 beyond what the hit explains"
ROWS = [
    ["7", "S1_T1_A_A003C004.mov", "00:00:01:14", "attentive viewers", WHY],
    ["12", "岸壁_S1_T2_B_夜の戦い.mov", "00:00:02:08", "", ""],
]


def printed(
    width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> list[str]:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("COLUMNS", str(width))
    print_table(COLUMNS, ROWS)
    return Text.from_ansi(capsys.readouterr().out).plain.splitlines()


def test_narrow_terminal_keeps_names_and_words_whole(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = printed(60, monkeypatch, capsys)
    assert max(map(cell_len, lines)) <= 60
    assert lines[0].split() == ["Hit", "Contact"]
    assert lines[1].split() == ["7", "00:00:01:14"]
    told = " ".join(" ".join(lines[2:-2]).split())
    assert told == f"Clip: S1_T1_A_A003C004.mov; Shows to: attentive viewers; Why: {WHY}"
    assert lines[-1].strip() == "Clip: 岸壁_S1_T2_B_夜の戦い.mov"


def test_columns_that_do_not_fit_side_by_side_follow_their_row(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "60")
    names = ("Beat", "Rank", "Hit", "Speed", "Trim", "Gain", "Then", "Stops", "Camera")
    print_table(
        [Column(name, itemgetter(place)) for place, name in enumerate(names)],
        [["1.1", "1", "S1T2A.1", "1.21", "1 from 34", "1.21x", "1.46", "7.7", "handheld"]],
    )
    lines = Text.from_ansi(capsys.readouterr().out).plain.splitlines()
    assert max(map(cell_len, lines)) <= 60
    assert lines[0].split() == [*names[:-1]]
    assert lines[2].strip() == "Camera: handheld"


def test_wide_terminal_keeps_one_table(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = printed(150, monkeypatch, capsys)
    assert lines[0].split() == ["Hit", "Clip", "Contact", "Shows", "to", "Why"]
    assert len(lines) == 3
    assert WHY in lines[1]


@pytest.mark.parametrize("width", [76, 90, 103, 118, 131, 160])
def test_what_is_broken_stands_as_rich_breaks_its_own_tables(
    width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    table = Table(box=None, pad_edge=False)
    for column in COLUMNS:
        justify, whole = column.side, not column.breaks
        table.add_column(column.heading, justify=justify, no_wrap=whole, overflow="fold")
    for row in ROWS:
        table.add_row(*row)
    lines = printed(width, monkeypatch, capsys)
    Console(width=width, color_system=None).print(table)
    expected = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert lines == expected and (len(lines) > 3) == (width < 131)


def test_table_in_a_file_keeps_each_row_on_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    print_table(COLUMNS, ROWS)
    heading, first, second = capsys.readouterr().out.splitlines()
    assert heading.split() == ["Hit", "Clip", "Contact", "Shows", "to", "Why"]
    assert first.startswith("  7  S1_T1_A_A003C004.mov") and first.endswith(f"  {WHY}")
    place = cell_len(heading[: heading.index("Contact")])
    for line, label in ((first, "00:00:01:14"), (second, "00:00:02:08")):
        assert cell_len(line[: line.index(label)]) == place
