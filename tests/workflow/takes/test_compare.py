"""The same beat over takes and angles: found by rhythm, ranked, shown side by side.

Rhythms are made here, so that the right answer is known; the strike's look is held against the
closed form of the eye's filter.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import count
from pathlib import Path

import cv2
import numpy as np
import pytest

from impactcut.core.fight.beats import ClipRhythm, find_beats, overlay_rhythms
from impactcut.core.fight.entries import HitEntry
from impactcut.core.fight.ranking import Showing, rank_showings
from impactcut.core.trims.speed import crispness
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.viewer.judge import Judge
from impactcut.media.render.contact_sheet import MOST_COLUMNS, TILE_WIDTH, Tile, draw_sheet
from impactcut.project import Project
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip, make_hit, make_motion
from tests.helpers.projects.review_site import add_clip
from tests.helpers.running.commands import Run, run_command

FIGHT = (1.0, 1.5, 2.9, 3.4, 5.2, 6.6, 7.0, 9.1, 10.3, 12.0)


def perform(
    seed: int, tempo: float, start: float, missed: Sequence[int] = (), extra: Sequence[float] = ()
) -> list[tuple[float, int | None]]:
    """Seconds of contacts in a performance of `FIGHT`, each with its beat; extra ones have none."""
    random = np.random.default_rng(seed)
    hits: list[tuple[float, int | None]] = [(start + tempo * second, None) for second in extra]
    for beat, second in enumerate(FIGHT):
        if beat not in missed:
            hits.append((start + tempo * second + random.normal(0, 0.03), beat))
    return sorted(hits)


def rhythms(performances: Sequence[Sequence[tuple[float, int | None]]]) -> list[ClipRhythm]:
    numbers = count(1)
    return [
        ClipRhythm(tuple(next(numbers) for _ in hits), tuple(second for second, _ in hits))
        for hits in performances
    ]


@pytest.mark.parametrize("seed", range(4))
def test_beats_are_found_through_tempo_misses_and_false_finds(seed: int) -> None:
    performances = [
        perform(seed, 1.0, 0.0, missed=(4,)),
        perform(seed + 10, 1.1, 7.3, missed=(0, 6)),
        perform(seed + 20, 0.93, 2.0, missed=(9,), extra=(4.4,)),
    ]
    clips = rhythms(performances)
    truth = {
        hit: beat
        for clip, hits in zip(clips, performances, strict=True)
        for hit, (_, beat) in zip(clip.hits, hits, strict=True)
    }
    found = find_beats(clips)
    assert sorted(hit for beat in found for hit in beat) == sorted(truth)
    for beat in found:
        assert len({truth[hit] for hit in beat}) == 1, "hits of several beats are put together"
    complete = [beat for beat in found if len(beat) == 3]
    assert {truth[beat[0]] for beat in complete} == {1, 2, 3, 5, 7, 8}
    order = [truth[beat[0]] for beat in found if truth[beat[0]] is not None]
    assert order == sorted(order)  # type: ignore[type-var]


def test_rhythms_that_share_nothing_and_empty_ones() -> None:
    assert overlay_rhythms((), (1.0,)).pairs == ()
    assert overlay_rhythms((1.0,), ()).pairs == ()
    assert overlay_rhythms((1.0,), (9.0,)).pairs == ((0, 0),)
    assert find_beats([]) == () and find_beats([ClipRhythm((), ())]) == ()
    with pytest.raises(ValueError, match="in order"):
        ClipRhythm((1, 2), (2.0, 1.0))


def test_few_contacts_are_laid_where_takes_begin_together() -> None:
    assert overlay_rhythms((1.83, 3.33), (3.12,)).pairs == ((1, 0),)
    assert overlay_rhythms((1.83, 3.33), (1.6,)).pairs == ((0, 0),)
    assert find_beats([ClipRhythm((1, 2), (1.8, 3.3)), ClipRhythm((3,), (3.2,))]) == ((1,), (2, 3))


def test_people_put_beats_right() -> None:
    clips = [ClipRhythm((1, 2), (1.0, 3.0)), ClipRhythm((3, 4), (11.0, 13.0))]
    assert find_beats(clips) == ((1, 3), (2, 4))
    assert find_beats(clips, {4: 4}) == ((1, 3), (2,), (4,))
    assert find_beats(clips, {4: 1}) == ((1, 4), (3,), (2,))
    assert find_beats(clips, {4: 99, 99: 1}) == ((1, 3), (2, 4))


def test_the_look_of_a_strike_that_stops_dead() -> None:
    """``v~ = h * v`` with ``h = t / tau**2 exp(-t / tau)`` (Werkhoven, Snippe & Toet 1992): once a
    steady strike stops dead, long after its start, the smoothed speed falls by at most
    ``v * max h = v / (tau e)``, a time ``tau`` later."""
    motion = make_motion(100, Fraction(60))
    moved = np.zeros_like(motion.channels[0].displacement)
    moved[2:20, 0] = 2.0 / 60
    still = np.zeros_like(moved)
    channels = tuple(
        replace(channel, displacement=moved if channel.name == "strike" else still)
        for channel in motion.channels
    )
    hit = make_hit(100, onset=82, peak=90, settle=101)
    stops = crispness(hit, replace(motion, channels=channels), Judge())
    assert stops == pytest.approx(2.0 / (0.040 * math.e), rel=0.03)


def showing(number: int, speed: float, stops: float = 10, **changes: object) -> Showing:
    reacts = {name: changes.pop(name) for name in list(changes) if name == "reaction"}
    hit = make_hit(peak_speed=speed, **reacts)
    trim = changes.pop("trim", None)
    proposal = Proposal((), None, "none") if trim is None else Proposal((trim,), trim, None)  # type: ignore[arg-type]
    clip = make_clip(rate=Fraction(24), **changes)
    return Showing(HitEntry(number, clip, hit, proposal, None), stops)


def test_ranking() -> None:
    """Steps of 9 %: what an attentive viewer tells apart (de'Sperati & Baud-Bovy 2017)."""
    faster = Trim(99, 2, 1.3, 0.5, "clean")
    ranked = rank_showings(
        [
            showing(1, 3.0, reaction=104),
            showing(2, 1.0),
            showing(3, 1.0, stops=14),
            showing(4, 1.0, trim=faster),
            showing(5, 1.0, circled=True),
            showing(6, 5.0, reaction=98),
        ]
    )
    assert [each.showing.entry.id for each in ranked] == [4, 3, 5, 2, 6, 1]
    assert [each.place for each in ranked] == [1, 2, 3, 4, 5, 6]
    reasons = {each.showing.entry.id: each.reason for each in ranked}
    assert reasons[4] == "fastest on screen"
    assert reasons[3] == "23% slower on screen than the first"
    assert reasons[6] == "the receiver moves 2 frames (83 ms) before contact"
    assert reasons[1].startswith("the receiver reacts 4 frames (167 ms) after contact")
    assert ranked[0].showing.speed == pytest.approx(1.3)


@pytest.mark.parametrize(
    ("others", "reason"),
    [
        ([], "the only one"),
        ([showing(2, 2.0, reaction=110)], "the only one whose receiver reacts in time"),
        ([showing(2, 1.0, stops=5)], "among the fastest, and stops hardest"),
        ([showing(2, 1.0)], "among the fastest"),
    ],
)
def test_the_first_has_its_reason(others: list[Showing], reason: str) -> None:
    assert rank_showings([showing(1, 1.0), *others])[0].reason == reason
    assert rank_showings([]) == ()


def test_a_trim_that_closes_a_late_reaction_counts() -> None:
    """Three frames at 24 a second are 125 ms, late; two are 83 ms, in time (limit: 100 ms)."""
    after_contact = Trim(101, 1, 1.0, 0.5, "clean")
    first, second = rank_showings(
        [showing(1, 2.0, reaction=103), showing(2, 1.0, reaction=103, trim=after_contact)]
    )
    assert (first.showing.entry.id, first.showing.lag) == (2, 2)
    assert second.reason.startswith("the receiver reacts 3 frames (125 ms) after contact")


@pytest.mark.parametrize("tiles", [1, MOST_COLUMNS, MOST_COLUMNS + 2])
def test_sheets_hold_every_tile(tiles: int) -> None:
    colours = [(40 * n + 20, 255 - 40 * n, 128) for n in range(tiles)]
    pictures = [Tile(np.full((90, 160, 3), colour, np.uint8), ("a", "b")) for colour in colours]
    sheet = cv2.imdecode(np.frombuffer(draw_sheet("t", pictures, "f"), np.uint8), cv2.IMREAD_COLOR)
    assert sheet is not None
    for colour in colours:
        shown = np.count_nonzero((sheet == colour).all(axis=2))
        assert shown == TILE_WIDTH * round(TILE_WIDTH * 90 / 160)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Three takes of two beats, one of them filmed, and a clip that nothing is known of."""
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        add_clip(project, tmp_path / "S2_T1_A_quay.mov")
        for take, late in ((2, 1), (3, 8)):
            clip = make_clip(
                f"/quay/S2_T{take}_A.mov", rate=Fraction(25), take=str(take), angle="A"
            )
            keep_clip(project, clip, *(make_hit(at, reaction=at + late) for at in (52, 88)))
        clip = make_clip("/quay/C0001.mov", section="", take="", angle="")
        keep_clip(project, clip, 100)

    return run_command


def beats_of(run: Run, *options: object) -> list[list[int]]:
    beats = json.loads(run("compare", "--json", *options).stdout)["beats"]
    return [[showing["hit"] for showing in beat["showings"]] for beat in beats]


def test_compare_as_table_json_and_csv(run: Run, tmp_path: Path) -> None:
    result = run("compare", "--csv", "out/beats.csv")
    assert result.exit_code == 0
    assert "2 beats, 2 of them in several takes or angles" in result.stdout
    assert "no section is known for 1 clip" in result.stderr
    assert "the receiver reacts 8 frames (320 ms) after contact" in result.stdout
    found = json.loads(run("compare", "--json").stdout)
    assert found["schema"] == 1
    first = found["beats"][0]["showings"]
    assert [each["rank"] for each in first] == [1, 2, 3] and first[2]["late"] is True
    text = (tmp_path / "out/beats.csv").read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(row["beat"], row["rank"]) for row in rows] == [
        (f"2.{beat}", str(rank)) for beat in (1, 2) for rank in (1, 2, 3)
    ]
    assert {row["hit"] for row in rows[:3]} == {each["hit_name"] for each in first}
    assert run("compare", "--csv", "out/beats.csv").exit_code == 2


def test_compare_is_put_right_by_hand(run: Run) -> None:
    assert [sorted(beat) for beat in beats_of(run)] == [[1, 3, 5], [2, 4, 6]]
    assert [sorted(beat) for beat in beats_of(run, "--apart", 5)] == [[1, 3], [5], [2, 4, 6]]
    assert [sorted(beat) for beat in beats_of(run, "--together", 5, 2)] == [
        [1, 3], [2, 4, 5], [6],
    ]  # fmt: skip
    assert [sorted(beat) for beat in beats_of(run, "--as-found", 5)] == [[1, 3, 5], [2, 4, 6]]
    assert run("compare", "--apart", 99).exit_code == 2
    assert [sorted(beat) for beat in beats_of(run, "--take", 3)] == [[5], [6]]


def test_a_section_is_one_however_its_name_is_written(run: Run) -> None:
    """As for `--section`, upper and lower case are one."""
    with Project(Path("impactcut.db")) as project:
        for take, section in (("1", "3b"), ("2", "3B")):
            clip = make_clip(f"/quay/S{section}_T{take}_A.mov", section=section, take=take)
            keep_clip(project, clip, 100)
    assert [sorted(beat) for beat in beats_of(run, "--section", "3B")] == [[8, 9]]
    assert [sorted(beat) for beat in beats_of(run)][-1] == [8, 9]


def test_hits_that_cannot_be_one_beat_are_not_put_together(run: Run) -> None:
    with Project(Path("impactcut.db")) as project:
        clip = make_clip("/quay/S3_T1_A.mov", section="3")
        keep_clip(project, clip, make_hit(60, confidence=1), make_hit(90, confidence=0.3))
    for hits, said in (
        ((5, 6), "both in S2_T3_A.mov"),
        ((5, 7), "no section is known for C0001.mov"),
        ((5, 8), "hit S2T3A.1 is of section 2 and hit S3T3B.1 of section 3"),
        ((5, 9), "too unsure to be compared (0.30)"),
    ):
        refused = run("compare", "--together", *hits)
        assert refused.exit_code == 2 and said in refused.stderr
    assert run("compare", "--apart", 7).exit_code == 2


def test_sheets_name_what_cannot_be_read(run: Run, tmp_path: Path) -> None:
    result = run("compare", "--sheets", "sheets")
    assert result.exit_code == 1 and "left out hit S2T2A.1 of S2_T2_A.mov" in result.stderr
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == [
        "beat_2.1.png",
        "beat_2.2.png",
    ]
    unknown = run("compare", "--section", "9")
    assert unknown.exit_code == 2 and "no clip belongs to section '9'; there is 2" in unknown.stderr


@pytest.mark.parametrize("options", [("--sheets", "out"), ("--csv", "out/beat_2.2.png")])
def test_what_is_there_is_refused_before_anything_is_drawn(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: tuple[str, str]
) -> None:
    def draw(*_: object) -> None:
        raise AssertionError("drawn in vain")

    monkeypatch.setattr("impactcut.workflow.takes.comparing.contact_sheet", draw)
    (tmp_path / "out").mkdir()
    (tmp_path / "out/beat_2.2.png").write_text("mine")
    refused = run("compare", *options)
    assert refused.exit_code == 2 and "beat_2.2.png: already there" in refused.stderr
