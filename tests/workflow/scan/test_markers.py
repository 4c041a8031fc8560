"""Marks on a timeline's clips, whichever way it counts their sources."""

from __future__ import annotations

from fractions import Fraction

import pytest

from impactcut.project import Project
from impactcut.workflow.scan.markers import FoundPlaces, read_markers
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip

otio = pytest.importorskip("opentimelineio")
RATE, START = Fraction(24), 86_400
NIGHT, DAY = "S2_T3_B.mov", "S2_T4_B.mov"


@pytest.fixture
def project(project: Project) -> Project:
    """Two clips of 240 frames whose timecode begins at 01:00:00:00."""
    for name in (NIGHT, DAY):
        clip = make_clip(f"/quay/{name}", rate=RATE, source_start=START, frames=240)
        keep_clip(project, clip, 100)
    return project


def marked(project: Project, url: str, mark: float, begins: int | None = None) -> FoundPlaces:
    """Marks read from a timeline with one on the media of ``url``, in frames of its own time."""
    time, span = otio.opentime.RationalTime, otio.opentime.TimeRange
    media = otio.schema.ExternalReference(url)
    if begins is not None:
        media.available_range = span(time(begins, 24), time(240, 24))
    shot = otio.schema.Clip("shot", media, span(time(int(mark) - 10, 24), time(40, 24)))
    shot.markers.append(otio.schema.Marker("elbow", span(time(mark, 24), time(1, 24))))
    timeline = otio.schema.Timeline("night")
    timeline.tracks.append(otio.schema.Track("V1", kind="Video"))
    timeline.tracks[0].append(shot)
    file = project.path.parent / "cut.otio"
    otio.adapters.write_to_file(timeline, str(file))
    return read_markers(project, file, None)


@pytest.mark.parametrize(
    ("mark", "begins"),
    [(START + 70, None), (START + 70, START), (70, None), (70, 0), (START + 70, 0), (70.9, 0)],
)
def test_a_mark_is_found_by_timecode_or_counted_from_0(
    project: Project, mark: float, begins: int | None
) -> None:
    found = marked(project, f"file:///cards/{NIGHT}", mark, begins)
    assert not found.refusals
    assert [(place.clip_id, place.frame, place.note) for place in found.places] == [
        (project.clips()[0].id, 70, "elbow")
    ]


@pytest.mark.parametrize(
    ("mark", "begins"), [(300, None), (300, 0), (70, START), (START - 1, None)]
)
def test_a_mark_that_no_clip_holds_is_refused(
    project: Project, mark: float, begins: int | None
) -> None:
    found = marked(project, f"file:///cards/{NIGHT}", mark, begins)
    assert not found.places
    assert "it is in no clip of the project" in found.refusals[0].error


def test_media_is_found_by_a_name_that_an_address_encodes(project: Project) -> None:
    clip = make_clip("/quay/S2 T5.mov", rate=RATE, source_start=START, frames=240)
    number = keep_clip(project, clip, 100)
    (place,) = marked(project, "file:///cards/S2%20T5.mov", 70).places
    assert (place.clip_id, place.frame) == (number, 70)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_list_of_marks_is_read_as_any_spreadsheet_saves_it(
    project: Project, separator: str
) -> None:
    """Where the decimal sign is a comma, cells are parted by semicolons (common practice)."""
    rows = [["clip", "timecode", "note"], [NIGHT, "01:00:02:22", "elbow"]]
    file = project.path.parent / "marks.csv"
    file.write_text("".join(separator.join(row) + "\r\n" for row in rows))
    (place,) = read_markers(project, file, None).places
    assert (place.frame, place.note) == (70, "elbow")
