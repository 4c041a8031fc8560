"""`impactcut preview` as a person uses it: what it shows, says, refuses, and leaves alone."""

from __future__ import annotations

import os
import shutil
from fractions import Fraction
from itertools import groupby
from pathlib import Path

import av
import numpy as np
import pytest
from click.testing import Result

from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.judge import Judge
from impactcut.project import Project
from impactcut.workflow.viewers.session import make_session
from tests.helpers.footage.media_files import Recipe, luma_of, number_in, write_clip, write_planes
from tests.helpers.footage.sound_files import SoundRecipe, write_sounding
from tests.helpers.projects.sounding_project import add_clip, approved
from tests.helpers.running.commands import Run, run_command

FRAMES = 84


@pytest.fixture(scope="module")
def cards(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip at 25 with sound, and one at 24 without."""
    folder = tmp_path_factory.mktemp("cards")
    tone = 0.2 * np.sin(np.arange(FRAMES * 1920) / 20)[:, None]
    write_sounding(folder / "a.mov", tone, SoundRecipe(), frames=FRAMES)
    write_clip(folder / "mute.mov", Recipe(rate=Fraction(24)), frames=FRAMES)
    return folder


@pytest.fixture
def run(cards: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Two clips at 25 with sound and one at 24 without; hits at 30 and 70, none decided."""
    monkeypatch.chdir(tmp_path)
    clips = (
        ("a.mov", "a.mov", [30, 70]),
        ("b.mov", "a.mov", [30, 70]),
        ("mute.mov", "mute.mov", [30]),
    )
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for name, filmed, contacts in clips:
            add_clip(project, Path(shutil.copy(cards / filmed, tmp_path / name)), contacts)

    def invoke(*arguments: object) -> Result:
        result = run_command("preview", *arguments)
        assert not list(tmp_path.glob("*.part")) and not list(tmp_path.glob(".*.part"))
        return result

    return invoke


def passages(path: Path) -> list[list[int]]:
    """Numbers that the pictures between the titles show."""
    numbers: list[int | None] = []
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            luma = luma_of(frame)[:180, 80:400]
            numbers.append(None if np.median(luma) < 24 else number_in(luma))
    groups = groupby(numbers, key=lambda number: number is None)
    return [[n for n in group if n is not None] for title, group in groups if not title]


def test_a_film_that_flashes_comes_with_a_warning(run: Run, tmp_path: Path) -> None:
    """Blocks of the numbered frames flash; a room in which nothing moves does not."""
    flashing = run(1, "--count", 1, "one.mp4")
    assert flashing.exit_code == 0 and "WCAG 2.3.1" in flashing.stderr
    assert "not a compliance test" in flashing.stderr
    still = write_planes(tmp_path / "still.mov", [np.full((180, 320), 90)] * FRAMES, Recipe())
    with Project(tmp_path / "impactcut.db") as project:
        add_clip(project, still, [30])
        number = project.hits(project.clips()[-1].id)[0].id
    calm = run(number, "--count", 1, "two.mp4")
    assert calm.exit_code == 0 and "WCAG" not in calm.stderr


def approve(hit_id: int, count: int) -> None:
    with Project(Path("impactcut.db")) as project:
        approved(project, hit_id, count)


def test_the_proposed_trim_then_the_approved_then_the_one_asked_for(run: Run) -> None:
    done = run(1, "p.mp4")
    assert (done.exit_code, done.stdout) == (0, "p.mp4\n")
    assert done.stderr.splitlines()[-1] == "2 frames out in 1 place"
    shot, trimmed, slow, slow_trimmed = passages(Path("p.mp4"))
    assert set(shot) - set(trimmed) == set(slow) - set(slow_trimmed) == {29, 30}
    approve(1, 1)
    assert run(1, "p.mp4", "--force", "--slow", 2).exit_code == 0
    shot, trimmed, *_ = passages(Path("p.mp4"))
    assert set(shot) - set(trimmed) == {29}
    assert run(1, "p.mp4", "--force", "--slow", 2, "--count", 3, "--first", 28).exit_code == 0
    shot, trimmed, *_ = passages(Path("p.mp4"))
    assert set(shot) - set(trimmed) == {28, 29, 30}


def test_a_trim_that_must_not_be_made_can_be_looked_at_but_is_named(run: Run) -> None:
    done = run(1, "p.mp4", "--count", 3, "--first", 30)
    assert done.exit_code == 0
    assert "hit a.1: this trim is not to be made: no frame after the contact" in done.stderr


def test_a_whole_clip_with_its_trims(run: Run) -> None:
    approve(1, 2)
    approve(2, 1)
    done = run("p.mp4", "--clip", "a.mov", "--slow", 2)
    assert done.exit_code == 0 and "3 frames out in 2 places" in done.stderr
    shot, trimmed, *slowed = passages(Path("p.mp4"))
    assert shot == list(range(FRAMES))
    assert trimmed == [n for n in range(FRAMES) if n not in (29, 30, 69)]
    assert len(slowed) == 4


def test_clips_of_several_rates_make_a_film_each(run: Run) -> None:
    Path("p_24.mp4").write_bytes(b"mine")
    refused = run("p.mp4", "--all", "--proposed", "--slow", 2)
    assert refused.exit_code == 2 and "p_24.mp4" in refused.stderr and "--force" in refused.stderr
    assert not Path("p_25.mp4").exists()
    done = run("p.mp4", "--all", "--proposed", "--slow", 2, "--force", "--quiet")
    assert done.stdout.split() == ["p_25.mp4", "p_24.mp4"] and not Path("p.mp4").exists()
    for name, rate in (("p_24.mp4", 24), ("p_25.mp4", 25)):
        with av.open(name) as container:
            assert container.streams.video[0].average_rate == rate


def test_the_whole_cut_of_one_rate(run: Run) -> None:
    nothing = run("p.mp4", "--clip", "a.mov", "--clip", "b.mov")
    assert nothing.exit_code == 2 and "nothing is approved in these clips" in nothing.stderr
    assert "--proposed takes the proposals" in nothing.stderr
    assert not Path("p.mp4").exists()
    done = run("p.mp4", "--clip", "a.mov", "--clip", "b.mov", "--proposed", "--slow", 2)
    assert done.exit_code == 0 and "8 frames out in 4 places" in done.stderr
    shot, trimmed, *_ = passages(Path("p.mp4"))
    assert shot == [*range(FRAMES)] * 2
    assert trimmed == [n for n in range(FRAMES) if n not in (29, 30, 69, 70)] * 2


def test_a_clip_without_sound_is_shown_and_that_is_said(run: Run) -> None:
    done = run(5, "p.mp4")
    assert done.exit_code == 0
    assert "sound of mute.mov: there is none; only hits are heard" in done.stderr
    with av.open("p.mp4") as container:
        assert container.streams.video[0].average_rate == 24
        sound = [f.to_ndarray() for f in container.decode(container.streams.audio[0])]
    assert np.abs(np.concatenate(sound, axis=1)).max() > 0.05
    assert run(5, "q.mp4", "--quiet").stdout == "q.mp4\n"


def test_a_file_that_is_there_is_kept(run: Run) -> None:
    Path("p.mp4").write_bytes(b"mine")
    refused = run(1, "p.mp4")
    assert refused.exit_code == 2 and "--force" in refused.stderr
    assert Path("p.mp4").read_bytes() == b"mine"
    assert run(1, "p.mp4", "--force").exit_code == 0
    assert len(Path("p.mp4").read_bytes()) > 1000


def test_a_clip_that_has_gone_is_named_with_the_remedy(run: Run) -> None:
    Path("a.mov").rename("elsewhere.mov")
    gone = run(1, "p.mp4")
    assert gone.exit_code == 2
    assert "a.mov: no such file" in gone.stderr and "'impactcut scan'" in gone.stderr
    assert not Path("p.mp4").exists()


def test_a_clip_that_has_changed_is_named(run: Run) -> None:
    write_clip(Path("mute.mov"), Recipe(rate=Fraction(24)), frames=FRAMES + 1)
    changed = run(5, "p.mp4")
    assert changed.exit_code == 1
    assert "mute.mov: it has changed since it was measured" in changed.stderr


def test_a_clip_that_was_only_copied_anew_has_not_changed(run: Run) -> None:
    os.utime("mute.mov", (1, 1))
    assert run(5, "p.mp4").stderr.count("mute.mov: it has changed") == 0


def test_trims_of_clips_that_were_not_asked_for_are_not_missed(run: Run) -> None:
    """What is approved of another clip and cannot go out is that clip's business."""
    approve(1, 1)
    approve(3, 1)
    with Project(Path("impactcut.db")) as project:
        project.store_proposals([(project.hit(3), Proposal((), None, "none fits"))])
    done = run("p.mp4", "--clip", "a.mov")
    assert done.exit_code == 0 and "b.mov" not in done.stderr


def test_a_film_that_fails_half_way_leaves_things_as_they_were(run: Run) -> None:
    write_clip(Path("mute.mov"), Recipe(rate=Fraction(24)), frames=35)
    Path("p.mp4").write_bytes(b"mine")
    failed = run(5, "p.mp4", "--force")
    assert failed.exit_code == 2 and "cannot be decoded" in failed.stderr
    assert Path("p.mp4").read_bytes() == b"mine"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((99, "p.mp4"), "there is no hit 99"),
        ((1, "p.mp4", "--count", 3, "--first", 5), "frames 5 to 7 are not among its trims"),
        ((1, "p.mov"), "must end in .mp4"),
        (("p.mp4",), "name a hit and the film"),
        (("x", "p.mp4"), "there is no hit x"),
        ((1, "p.mp4", "--first", 5), "--first needs --count"),
        ((1, "p.mp4", "--proposed"), "--proposed goes with --clip or --all"),
        ((1, "p.mp4", "--all"), "name only the film"),
        (("p.mp4", "--all", "--count", 2), "go with a hit"),
        (("p.mp4", "--all", "--clip", "a.mov"), "choose one of --clip and --all"),
        (("p.mp4", "--clip", "z.mov"), "z.mov: no clip of the project"),
        (("p.mp4", "--clip", "a.mov", "--proposed", "--record-start", "1:00"), "not a timecode"),
    ],
)
def test_wrong_use_is_said(run: Run, arguments: tuple[object, ...], said: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    assert not Path("p.mp4").exists()


def test_a_full_disk_is_said_and_leaves_nothing(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fill_up(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("impactcut.workflow.pictures.previewing.write_preview", fill_up)
    full = run(1, "p.mp4")
    assert full.exit_code == 2 and "No space left on device" in full.stderr
    assert not Path("p.mp4").exists()


def test_previews_and_films_for_viewers_are_no_footage(run: Run, tmp_path: Path) -> None:
    films = tmp_path / "films"
    assert run(1, "films/p.mp4").exit_code == 0
    make_session(films, 1, 1, Judge(), lambda done, of: None)
    shutil.copy(films / "p.mp4", films / "of another project.mov")
    result = run_command("scan", films)
    assert result.exit_code == 2 and "no media found" in result.stderr
    assert "3 films that impactcut made left out, as no footage: of another" in result.stdout
    with Project(tmp_path / "impactcut.db", reading=True) as project:
        assert len(project.clips()) == 3
