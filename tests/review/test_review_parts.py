"""What the page is made of: data, pictures, sounds, the cache, and its scripts joined into one.

No outside standard exists for these; the checks are of the program's own promises, with the WAV
files read by the standard library and the pictures by OpenCV.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import wave
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest

import impactcut.review
from impactcut.core.fight.entries import HitEntry
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.propose import propose
from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.flashes import Flashes
from impactcut.media.probe.container import probe
from impactcut.media.render.pictures import Picture
from impactcut.project import Project
from impactcut.review.assets import (
    JOINED_SCRIPT,
    JOINED_STYLE,
    STYLES,
    SUMMARY_STYLE,
    asset,
    scripts,
    served_page,
)
from impactcut.review.bundle import join_modules
from impactcut.review.cache import PictureCache, cache_folder
from impactcut.review.material import Material, reviewed
from impactcut.review.packing import pack_run
from impactcut.review.views import (
    ReviewedHit,
    detail_dict,
    motion_chart,
    overview_dict,
    review_dict,
)
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.pictures.hit_pictures import compress_run, fit_run, shown_frames
from impactcut.workflow.pictures.hit_sound import production_wav, thump_wav
from tests.helpers.footage.media_files import Recipe, number_in, numbered, write_clip, write_planes
from tests.helpers.projects.project_values import make_clip, make_hit, make_motion, make_proposal
from tests.helpers.projects.review_site import add_filmed, make_project

STATIC = Path(impactcut.review.__file__).parent / "static"


def entry(**changes: object) -> HitEntry:
    hit = make_hit(**changes)  # type: ignore[arg-type]
    return HitEntry(1, make_clip(), hit, make_proposal(), None)


@pytest.mark.parametrize("rate", ["24", "24000/1001", "60", "120", "12"])
def test_shown_frames_hold_every_trim_and_stay_in_the_clip(rate: str) -> None:
    for contact in (0, 3, 100, 236, 239):
        clip = make_clip(rate=Fraction(rate))
        hit = make_hit(contact, onset=max(0, contact - 6), peak=max(0, contact - 2))
        shown = shown_frames(hit, clip)
        assert 0 <= shown.start <= max(0, contact - 8)
        assert min(240, contact + 9) <= shown.stop <= 240
        assert len(shown) <= 97


def test_a_long_reaction_is_shown() -> None:
    hit = make_hit(100, settle=103, reaction=124)
    assert 130 in shown_frames(hit, make_clip())


def noise(frames: int) -> list[Picture]:
    random = np.random.default_rng(3)
    return [
        Picture(20 + n, random.integers(0, 255, (180, 320, 3), dtype=np.uint8))
        for n in range(frames)
    ]


def test_runs_fit_their_room_and_use_it() -> None:
    pictures = noise(6)
    sizes = [sum(map(len, fit_run(pictures, most).pictures)) for most in (10**9, 200_000, 140_000)]
    assert sizes[0] > 200_000 >= sizes[1] > 140_000 >= sizes[2] > 100_000
    assert fit_run(pictures, 140_000).pictures == fit_run(pictures, 140_000).pictures
    assert fit_run(pictures, 1).pictures


def test_packs_are_a_head_and_the_pictures() -> None:
    plain = [Picture(n, np.repeat(numbered(n)[:, :, None], 3, axis=2)) for n in range(7, 10)]
    pack = pack_run(compress_run(plain, "jpeg", 85), Flashes(7, 2))
    length = int.from_bytes(pack[:4], "little")
    head = json.loads(pack[4 : 4 + length])
    assert (head["first"], head["width"], head["height"]) == (7, 320, 180)
    at = 4 + length
    for number, size in zip(range(7, 10), head["sizes"], strict=True):
        picture = cv2.imdecode(np.frombuffer(pack[at : at + size], np.uint8), cv2.IMREAD_COLOR)
        assert number_in(picture[:, :, 1]) == number
        at += size
    assert at == len(pack) and head["type"] == "image/jpeg"
    assert head["flashes"] == {"general": 7, "red": 2, "tooMany": True}


def test_chart_takes_the_camera_out() -> None:
    motion = make_motion(100)
    chart = motion_chart(motion, FrameRange(78, 122))
    assert len(chart["strike"]) == 43
    assert chart["strike"][:2] == [None, None] and chart["strike"][-1] is None
    rate = float(motion.rate)
    strike, background = motion.channels[0].displacement, motion.channels[2].displacement
    expected = float(np.hypot(*(strike - background)[15])) * rate
    assert chart["strike"][17] == pytest.approx(expected, abs=1e-3)
    assert chart["receiver"][17] == pytest.approx(0, abs=1e-3)
    assert chart["background"][17] == pytest.approx(
        float(np.hypot(*background[15])) * rate, abs=1e-3
    )


def test_chart_without_receiver_or_background() -> None:
    motion = make_motion(100)
    alone = replace(motion, channels=motion.channels[:1])
    chart = motion_chart(alone, FrameRange(80, 100))
    assert chart["receiver"] is None and chart["background"] is None and max(chart["strike"]) > 0


def test_detail_holds_every_trim_with_its_price() -> None:
    made = entry()
    detail = detail_dict(made, make_motion())
    assert [(t["first"], t["count"]) for t in detail["trims"]] == [
        (trim.first, trim.count) for trim in made.proposal.trims
    ]
    one = detail["trims"][0]
    assert one["gain"] == 1.12 and one["where"] == "the frame 1 before contact"
    assert one["lag"] == {"frames": 1, "ms": 42}
    assert one["sync"]["ms"] == 42
    assert detail["best"] == {1: 99, 2: 99, 3: 98}
    shown = shown_frames(made.impact, made.clip)
    assert len(detail["timecodes"]) == len(shown)
    assert detail["timecodes"][0] == made.clip.source_label(shown.start)
    json.dumps(detail)


def test_pages_flag_what_the_lists_flag() -> None:
    """Whichever trim is approved: one that shows, and one too fast to believe, are flagged."""
    made = entry()
    first, *others = made.proposal.trims
    fast = replace(first, count=2, first=first.first - 1, speed_gain=1.7)
    made = replace(made, proposal=replace(made.proposal, trims=(first, fast, *others)))
    told = detail_dict(made, make_motion())["trims"]
    for trim in told:
        frames = FrameRange(trim["first"], trim["first"] + trim["count"])
        approved = Decision("approved", frames, "Ines", "2024-03-01T20:00:00Z")
        decided = replace(made, decision=approved)
        assert decided.flagged == trim["flagged"]
        glance = overview_dict(ReviewedHit(decided, "aa"))["approved"]
        assert glance == {name: trim[name] for name in glance}
    assert [trim["flagged"] for trim in told] == [False, True, False, True, False]


def test_detail_of_a_fast_camera_stays_small() -> None:
    """30 kB, at twice the frames a second that most cameras shoot and with all that may be said."""
    rate = Fraction(120)
    clip = make_clip(rate=rate, frames=1200)
    hit = make_hit(600, onset=520, reaction=680)
    motion = make_motion(600, rate)
    proposal = propose(hit, motion, clip.frames)
    assert len(proposal.trims) >= 20
    made = HitEntry(1, clip, hit, proposal, None)
    told = [
        f"take {take}, angle B would allow 2 frames where it shows to nobody" for take in "2345"
    ]
    assert len(json.dumps(detail_dict(made, motion, told))) < 30_000


def test_views_hold_no_path(tmp_path: Path) -> None:
    path = make_project(tmp_path, ["S1_T1_A_quay.mov"])
    with Project(path) as project:
        for hit in reviewed(project, list_hits(project)):
            text = json.dumps([overview_dict(hit), detail_dict(hit.entry, make_motion())])
            assert str(tmp_path) not in text and "S1_T1_A_quay.mov" in text


def read_wav(content: bytes) -> tuple[int, np.ndarray]:
    with wave.open(io.BytesIO(content)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        frames = file.readframes(file.getnframes())
    return file.getframerate(), np.frombuffer(frames, "<i2").astype(float) / 32768


def test_thump_begins_at_once() -> None:
    rate, sound = read_wav(thump_wav(1.5, 3))
    assert rate == 24000 and len(sound) == 24000 * 22 // 100
    assert np.abs(sound[: 24000 // 200]).max() > 0.1 and np.abs(sound).max() < 1


def test_production_sound_is_cut_to_the_frames(tmp_path: Path) -> None:
    silent = probe(write_clip(tmp_path / "a.mov", frames=30), rate=None, reel=None)
    assert production_wav(silent, FrameRange(3, 9)) is None
    path = write_clip(tmp_path / "b.mov", Recipe(sound=True), frames=30)
    heard = production_wav(probe(path, rate=None, reel=None), FrameRange(3, 9))
    assert heard is not None
    rate, sound = read_wav(heard)
    assert len(sound) == 6 * rate // 25


def test_cache_gives_back_what_was_made(tmp_path: Path) -> None:
    cache = PictureCache(tmp_path / "new" / "cache")
    made: list[str] = []

    def make(name: str) -> bytes:
        made.append(name)
        return name.encode()

    for name in ("a", "b", "a"):
        assert cache.get(name, lambda name=name: make(name)) == name.encode()  # type: ignore[misc]
    assert made == ["a", "b"] and cache.find("c") is None


def test_damaged_cache_files_are_made_again(tmp_path: Path) -> None:
    cache = PictureCache(tmp_path)
    cache.get("a", lambda: b"whole")
    (file,) = tmp_path.iterdir()
    for damage in (b"", file.read_bytes()[:-1], b"x" * 40):
        file.write_bytes(damage)
        assert cache.find("a") is None
        assert cache.get("a", lambda: b"whole") == b"whole"
    assert len(list(tmp_path.iterdir())) == 1


def test_cache_forgets_what_was_not_used_for_longest(tmp_path: Path) -> None:
    cache = PictureCache(tmp_path, most_bytes=3 * 1016)
    for age, name in enumerate("abc"):
        cache.get(name, lambda: bytes(1000))
        for file in tmp_path.iterdir():
            os.utime(file, ns=(0, file.stat().st_mtime_ns - 10**9 * (age + 1)))
    assert cache.find("a") is not None
    cache.get("d", lambda: bytes(1000))
    assert cache.find("a") is not None and cache.find("d") is not None
    assert len(list(tmp_path.iterdir())) == 3


def test_cache_forgets_though_a_file_goes_away_meanwhile(tmp_path: Path) -> None:
    """A link to nothing is listed and cannot be looked at, as a file that was just removed."""
    (tmp_path / "gone").symlink_to(tmp_path / "nowhere")
    cache = PictureCache(tmp_path, most_bytes=3 * 1016)
    for name in "abcde":
        cache.get(name, lambda: bytes(1000))
    assert sum(file.is_file() for file in tmp_path.iterdir()) == 3


def test_cache_that_cannot_be_written_does_without(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert PictureCache(tmp_path / "file").get("a", lambda: b"made") == b"made"


def test_cache_folder_can_be_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("IMPACTCUT_CACHE", str(tmp_path))
    assert cache_folder() == tmp_path
    monkeypatch.delenv("IMPACTCUT_CACHE")
    assert cache_folder().name == "impactcut"


def test_the_screening_gets_pictures_at_their_own_size(tmp_path: Path) -> None:
    planes = [np.full((720, 1280), 16 + frame) for frame in range(60)]
    wide = write_planes(tmp_path / "S1_T1_A_wide.mov", planes, Recipe())
    with Project(tmp_path / "night.db", create=True) as project:
        add_filmed(project, wide, [30])
    material = Material(tmp_path / "night.db", PictureCache(tmp_path / "cache"))
    assert b'"width": 960' in material.pictures(1)[:200]
    assert b'"width": 1280' in material.large(1)[:200]


def test_flashes_across_two_stretches_of_a_clip_are_counted_together(tmp_path: Path) -> None:
    """Four within a second, two on either side: more than the three of WCAG 2.2, 2.3.1."""
    planes = [
        np.full((180, 320), 235 if 38 <= n < 62 and (n - 38) // 3 % 2 == 0 else 40)
        for n in range(100)
    ]
    strobe = write_planes(tmp_path / "strobe.mov", planes, Recipe(rate=Fraction(25)))
    with Project(tmp_path / "night.db", create=True) as project:
        add_filmed(project, strobe, [20])
    material = Material(tmp_path / "night.db", PictureCache(tmp_path / "cache"))
    before, after = (material.clip_pictures(1, first)[:200] for first in (0, 50))
    assert b'"general": 4' in before and b'"tooMany": false' in before
    assert b'"general": 8' in after and b'"tooMany": true' in after


def test_pictures_do_not_outlive_their_clip(tmp_path: Path) -> None:
    path = make_project(tmp_path, ["S1_T1_A_quay.mov"])
    material = Material(path, PictureCache(tmp_path / "cache"))
    before = material.strip(1)
    assert material.strip(1) == before != material.strip(2)
    assert len(list((tmp_path / "cache").iterdir())) == 2


def test_every_script_and_style_is_known() -> None:
    found = {path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*.*")}
    assert found == {*scripts(), *STYLES, SUMMARY_STYLE, "icon.svg"}
    page = served_page()
    assert page.count("static/") == 3, "scripts and style come joined, and the icon"
    assert all(asset(name) in asset(JOINED_STYLE) for name in STYLES)
    assert all(f"// {name}\n" in asset(JOINED_SCRIPT) for name in scripts())
    assert "<script>" not in page and "style=" not in page


@pytest.mark.skipif(shutil.which("node") is None, reason="node is not installed")
def test_joined_scripts_are_one_valid_module(tmp_path: Path) -> None:
    (tmp_path / "page.mjs").write_text(asset(JOINED_SCRIPT))
    checked = subprocess.run(["node", "--check", tmp_path / "page.mjs"], capture_output=True)
    assert checked.returncode == 0, checked.stderr


def test_modules_are_laid_end_to_end() -> None:
    sources = {
        "main.js": 'import { one } from "./a/a.js";\nimport {\n  b,\n} from "./b.js";\none(b);\n',
        "a/a.js": 'import { b } from "../b.js";\nexport function one() {}\n',
        "b.js": "export const b = 1;\n",
        "unused.js": "this is no script",
    }
    joined = join_modules(sources, "main.js")
    assert joined.index("const b = 1") < joined.index("function one") < joined.index("one(b);")
    assert "import" not in joined and "export" not in joined and "no script" not in joined


@pytest.mark.parametrize(
    ("sources", "message"),
    [
        ({"m.js": 'import a from "./a.js";\n', "a.js": ""}, "cannot be joined: import a"),
        ({"m.js": "export default 1;\n"}, "cannot be joined: export default"),
        (
            {"m.js": 'import { a } from "./a.js";\nexport const m = 1;\n',
             "a.js": 'import { m } from "./m.js";\nexport const a = 1;\n'},
            "cycle",
        ),
    ],
)  # fmt: skip
def test_modules_that_cannot_be_joined_are_named(sources: dict[str, str], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        join_modules(sources, "m.js")


def test_the_overview_says_whether_visibility_is_calibrated() -> None:
    entry = HitEntry(1, make_clip(), make_hit(), make_proposal(), None)
    fitted = Calibration(4.0, 0.1, 2.5, (0.4, 0.03, 0.2), 480, 4)
    said = [
        review_dict("night", "key", "now", [ReviewedHit(each, "aa")])["judging"]
        for each in (entry, replace(entry, calibration=fitted))
    ]
    assert "uncalibrated" in said[0]
    assert said[1] == "Visibility is calibrated on 480 answers of 4 viewers."
