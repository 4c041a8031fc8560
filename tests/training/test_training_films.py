"""Films for a fit: the same every time, had without an encoder, and true to what they show.

Places are checked against OpenCV's own projection and against where a white fist is drawn; times
against the frames in which the pictures change; neither knows how the truth is told.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from tests.helpers.footage.shared_bench import bench

figures, films, fights, shots, stand_ins, truths = (
    importlib.import_module(f"filming.{name}")
    for name in ("figures", "films", "fights", "shots", "stand_ins", "truths")
)
handled, staged, struck = (
    importlib.import_module(f"filming.{name}") for name in ("handled", "staged", "struck")
)
CAPTURES = bench("captures")
BENCH = Path() if CAPTURES is None else CAPTURES.parent
needs_bench = pytest.mark.skipif(CAPTURES is None, reason="needs the footage in shared/bench")
SCRIPTS = Path(films.__file__).parents[1]

STANDING = {
    "hips": (0, 1, 0), "spine": (0, 1.15, 0), "chest": (0, 1.3, 0), "neck": (0, 1.5, 0),
    "head": (0, 1.6, 0),
    "l_shoulder": (0.18, 1.45, 0), "l_elbow": (0.22, 1.18, 0), "l_hand": (0.22, 0.93, 0.05),
    "r_shoulder": (-0.18, 1.45, 0), "r_elbow": (-0.22, 1.18, 0), "r_hand": (-0.22, 0.93, 0.05),
    "l_hip": (0.1, 0.95, 0), "l_knee": (0.1, 0.52, 0.02), "l_ankle": (0.1, 0.1, 0),
    "l_toe": (0.1, 0.03, 0.15), "r_hip": (-0.1, 0.95, 0), "r_knee": (-0.1, 0.52, 0.02),
    "r_ankle": (-0.1, 0.1, 0), "r_toe": (-0.1, 0.03, 0.15),
}  # fmt: skip
"""Somebody who looks along Z: metres, the left where X grows, up where Y does."""
WHITE_SKIN = np.where(np.arange(7) == figures.SKIN, 255.0, 60.0)


def row_of(joint: str) -> int:
    return list(STANDING).index(joint)


def standing(instants: int) -> Any:
    return np.repeat(np.array([list(STANDING.values())], float), instants, axis=0)


class SideCamera:
    """Stands 4 m to the side, level with the chest; a pinhole."""

    w, h, f = 320, 240, 300.0

    def project(self, points: Any, turn: Any) -> Any:
        seen = (np.asarray(points, float) - (4, 1.2, 0.3)) @ turn.T
        return seen[..., :2] / seen[..., 2:] * self.f + (self.w / 2, self.h / 2), seen[..., 2]

    def backdrop(self, wall: Any, turn: Any) -> Any:
        return wall.copy()


SIDEWAYS = np.array([[0.0, 0, 1], [0, -1, 0], [-1, 0, 0]])
CLOCK = shots.Clock(Fraction(25), 40, 0.0, 180.0, 6)


def drawn(joints: Any, clock: Any = CLOCK, shows: list[int] | None = None) -> Any:
    """Pictures of one body without grain, float64 (frames, h, w)."""
    figure = figures.Figure(WHITE_SKIN, 1.0, np.zeros((len(figures.LIMBS) + 1, 0, 4)))
    turns = np.repeat(SIDEWAYS[None], len(clock.times), axis=0)
    wall = np.full((SideCamera.h, SideCamera.w), 90, np.uint8)
    body = shots.Body(joints, row_of, figure)
    shot = shots.Shot(SideCamera(), turns, clock, wall, None, (body,), 0.0, None)
    shown = list(range(clock.frames)) if shows is None else shows
    return np.array(shots.pictures(shot, shown, np.random.default_rng(0)), float)


def punch(contact: float, speed: float = 3.0) -> Any:
    return stand_ins.Throw(
        contact, np.array([0.2, 1.3, 0.1]), np.array([0.1, 1.5, 0.5]), np.zeros(3), speed,
        stop=0.02, wind=0.2, hold=0.2, back=0.3,
    )  # fmt: skip


@pytest.mark.parametrize("contact", [0.63, 0.8, 0.871])
def test_a_fist_is_where_and_when_it_is_said_to_arrive(contact: float) -> None:
    throw = punch(contact)
    joints = stand_ins.throwing(standing(len(CLOCK.times)), row_of, CLOCK.times, "l", throw)
    pictures = drawn(joints)
    frame = shots.first_shown(list(range(CLOCK.frames)), CLOCK.exact(contact))
    told = SideCamera().project(throw.target, SIDEWAYS)[0]
    rows, columns = np.nonzero(pictures[frame] - pictures[0] > 60)
    far = np.hypot(columns - told[0], rows - told[1])
    assert np.median(far) < 8, "the white fist, some 9 pixels wide"
    ahead = [
        np.percentile(np.nonzero(p - pictures[0] > 20)[1], 95)
        for p in pictures[frame - 3 : frame + 4]
    ]
    steps = np.abs(np.diff(ahead))
    assert steps[:2].min() > 4 * steps[4:6].max(), "fast until then, and nearly at rest after"


@pytest.mark.parametrize("speed", [1.5, 3.0, 6.0])
def test_a_blow_arrives_as_fast_as_asked_for(speed: float) -> None:
    throw, step = punch(1.0, speed), 1e-4
    around = 1.0 + step * np.array([-2, -1, 0, 1, 2])
    path = throw.path(around, np.zeros((5, 3)))
    velocity = np.linalg.norm(np.diff(path, axis=0), axis=1) / step
    np.testing.assert_allclose(velocity, speed, rtol=0.03)
    np.testing.assert_allclose(path[2], throw.target)


@pytest.mark.parametrize("side", ["l", "r"])
def test_a_kick_keeps_the_leg_whole_and_the_other_foot_on_the_ground(side: str) -> None:
    times = np.arange(0, 2, 1 / 120)
    sign = 1 if side == "l" else -1
    throw = stand_ins.Throw(
        1.0, np.array([0.15 * sign, 0.6, 0.2]), np.array([0.1 * sign, 1.0, 0.75]), np.zeros(3),
        4.0, stop=0.03, wind=0.3, hold=0.1, back=0.4,
    )  # fmt: skip
    before = standing(len(times))
    joints = stand_ins.kicking(before, row_of, times, side, throw)
    for near, far in (("hip", "knee"), ("knee", "ankle")):
        ends = joints[:, row_of(f"{side}_{far}")] - joints[:, row_of(f"{side}_{near}")]
        length = np.linalg.norm(np.subtract(STANDING[f"{side}_{far}"], STANDING[f"{side}_{near}"]))
        np.testing.assert_allclose(np.linalg.norm(ends, axis=1), length, rtol=0.01)
    other = row_of(f"{'r' if side == 'l' else 'l'}_toe")
    np.testing.assert_allclose(joints[:, other], before[:, other], atol=0.001)
    at = int(np.argmin(np.abs(times - 1.0)))
    np.testing.assert_allclose(joints[at, row_of(f"{side}_ankle")], throw.target, atol=0.02)


@pytest.mark.parametrize("lag", [-6.0, -1.5, 0.0, 2.5, 6.0])
def test_a_receiver_is_still_until_the_stated_lag(lag: float) -> None:
    half_shutter = CLOCK.shutter / 720
    contact, start = ((18.3 + late + half_shutter) / float(CLOCK.rate) for late in (0, lag))
    reaction = stand_ins.Reaction(
        stand_ins.HEAD, start, np.array([0, 0, -1.0]), 0.25, 0.05, 0.8, True, False
    )
    still = standing(len(CLOCK.times))
    pictures = drawn(stand_ins.reacted(still, row_of, CLOCK.times, reaction))
    changes = np.abs(np.diff(pictures, axis=0)).max(axis=(1, 2)) > 3
    first = int(np.argmax(changes)) + 1
    assert first == int(np.ceil(CLOCK.exact(contact) + lag - half_shutter)), "the first exposed"


def test_walkers_keep_a_foot_where_it_stands() -> None:
    times = np.arange(0, 3, 1 / 120)
    joints = stand_ins.walking(standing(len(times)), row_of, 1.2 * times, np.array([0, 0, 1.0]))
    speeds = [
        np.linalg.norm(np.diff(joints[:, row_of(f"{side}_ankle")], axis=0), axis=1) * 120
        for side in "lr"
    ]
    assert np.median(np.minimum(*speeds)) < 0.05, "metres a second"
    hips = np.diff(joints[:, row_of("hips")], axis=0) * 120
    np.testing.assert_allclose(hips, np.broadcast_to((0, 0, 1.2), hips.shape), atol=1e-6)


def test_a_contact_reads_first_in_the_first_picture_not_a_quarter_before_it() -> None:
    """The bench's convention: the first frame is ceil(exact - 0.25)."""
    plain = list(range(30))
    for exact in np.arange(2, 20, 0.05).round(2):
        assert shots.first_shown(plain, exact) == int(np.ceil(exact - 0.25))
    repeated = [number - number % 4 for number in plain]
    assert shots.first_shown(repeated, 9.0) == 12, "pictures 8 and 12 are all that is shown"
    held = [0] * 10 + plain
    assert shots.first_shown(held, 9.0) == 19
    assert shots.first_shown(plain, 29.5) is None
    assert shots.frames_between(held, 9.0, 11.5) == pytest.approx(2.5)
    assert shots.frames_between(held, 0.0, 2.0) == pytest.approx(12.0), "ten are held in between"


def test_pictures_are_those_that_are_to_be_shown() -> None:
    throw = punch(0.8)
    joints = stand_ins.throwing(standing(len(CLOCK.times)), row_of, CLOCK.times, "l", throw)
    every = drawn(joints)
    shows = [0, 0, 0, 5, 12, 12, 19, 20, 20]
    np.testing.assert_array_equal(drawn(joints, shows=shows), every[shows])


def test_shows_never_run_backwards_and_stay_within_bounds() -> None:
    kinds = set()
    for seed in range(300):
        shows = shots.some_shows(np.random.default_rng(seed), 80, Fraction(25), 40)
        steps = np.diff(shows)
        assert shows[0] == 0
        assert steps.min() >= 0
        assert max(shows) < 80
        assert len(shows) <= shots.LONGEST + 15
        kinds.add((bool((steps == 0).any()), len(shows) > 80))
    assert len(kinds) == 3, "plain ones, ones with repeats, longer ones"


def test_places_of_a_fight_are_as_opencv_projects_them() -> None:
    spec = fights._small(fights.random_spec(200_003))
    shoot = fights.prepare(replace(spec, frames=2))
    camera = shoot.stage.camera
    flipped = np.diag([1.0, 1, -1])  # its world is left-handed, OpenCV's is not
    inner = np.array([[camera.focal, 0, camera.width / 2], [0, camera.focal, camera.height / 2],
                      [0, 0, 1]])  # fmt: skip
    for seconds in (0.3, 1.1):
        turned = camera.rotations(np.array([seconds]))[0] @ camera.axes @ flipped
        spot = np.array([0.2, 1.4, -0.3])
        turn, shift = cv2.Rodrigues(turned)[0], -turned @ flipped @ camera.position
        pixel = cv2.projectPoints((flipped @ spot)[None], turn, shift, inner, None)[0][0, 0]
        told = camera.place(spot, seconds)
        np.testing.assert_allclose(told, pixel / (camera.width, camera.height), atol=1e-6)


@pytest.mark.parametrize("number", [0, 3])
def test_a_fight_tells_of_blows_that_its_pictures_show(number: int) -> None:
    film = films.film("fight", number, BENCH)
    assert film.group == f"fight {number}"
    check_film(film)
    scored = [hit for hit in film.hits if hit["scored"]]
    assert scored
    for hit in scored:
        window = film.frames[hit["frame"] - 2 : hit["frame"] + 1]
        assert near_change(window, hit["x"], hit["y"]) > 3, "levels, over what changes elsewhere"


def near_change(frames: list[Any], x: float, y: float) -> float:
    """How much more a picture changes about a place than it does in the median, levels."""
    change = np.abs(np.diff(np.array(frames, float), axis=0)).max(axis=0)
    change = cv2.blur(change, (5, 5))
    height, width = change.shape
    reach = width // 12
    top, left = max(0, int(y * height) - reach), max(0, int(x * width) - reach)
    near = change[top : top + 2 * reach, left : left + 2 * reach]
    return float(near.max() - np.median(change))


def check_film(film: Any) -> None:
    assert film.kind in truths.KINDS
    assert 12 <= len(film.frames) <= truths.LONGEST + 15
    shapes = {frame.shape for frame in film.frames}
    assert len(shapes) == 1
    assert all(frame.dtype == np.uint8 for frame in film.frames)
    assert shapes.pop()[1] <= truths.WIDEST
    for hit in film.hits:
        assert set(hit) == {"frame", "scored", "x", "y", "lag", "kind"}
        assert type(hit["frame"]) is int
        assert 0 <= hit["frame"] < len(film.frames)
        assert type(hit["scored"]) is bool
        if hit["scored"]:
            assert 0 < hit["x"] < 1
            assert 0 < hit["y"] < 1


def same(first: Any, second: Any) -> bool:
    told = [(film.kind, film.group, film.rate, film.hits) for film in (first, second)]
    return told[0] == told[1] and np.array_equal(first.frames, second.frames)


def test_things_are_the_same_twice_and_no_two_are_alike() -> None:
    first, again, other = (films.film("thing", number, BENCH) for number in (1, 1, 5))
    assert same(first, again)
    assert not same(first, other)
    check_film(first)
    assert [hit["kind"] for hit in first.hits if hit["scored"]] == ["thing"] * 3
    assert not other.hits


def test_what_is_no_film_is_refused() -> None:
    with pytest.raises(ValueError, match="kinds are strike, fight, thing, calm"):
        films.film("stroke", 0, BENCH)
    with pytest.raises(ValueError, match="no film -1"):
        films.film("strike", -1, BENCH)


@needs_bench
@pytest.mark.parametrize(("kind", "number"), [("strike", 10_035), ("calm", 40), ("thing", 10_002)])
def test_the_same_number_gives_the_same_film(kind: str, number: int) -> None:
    first, again = (films.film(kind, number, BENCH) for _ in range(2))
    assert same(first, again)
    check_film(first)


@needs_bench
def test_strikes_are_told_and_lie_where_the_pictures_change() -> None:
    margins = []
    for number in (32, 33, 34, 35, 36, 37):
        film = films.film("strike", number, BENCH)
        check_film(film)
        assert film.group.split(" ")[0] in ("strike", "acted")
        for hit in film.hits:
            if hit["scored"]:
                window = film.frames[max(0, hit["frame"] - 2) : hit["frame"] + 1]
                margins.append(near_change(window, hit["x"], hit["y"]))
    assert len(margins) >= 6
    assert np.median(margins) > 10, "levels"


@needs_bench
def test_a_ball_kept_up_turns_where_a_contact_is_told() -> None:
    """Between contacts it falls freely (9.81 m/s²), and at each it is thrown up again."""
    on = staged.setting(BENCH)
    for seed in range(6):
        scene = handled.kept_up(on, np.random.default_rng(seed))
        times, (ball,) = scene.clock.times, scene.bodies[0].things
        told = [contact.seconds for contact in scene.contacts]
        high = ball.points[:, 0, 1]
        pull = np.gradient(np.gradient(high, times), times)
        far = np.abs(times[:, None] - told).min(axis=1) > 0.1
        flying = far & (times > told[0]) & (times < told[-1])
        np.testing.assert_allclose(pull[flying][2:-2], -9.81, atol=0.4)
        for second in told:
            if times[0] + 0.1 < second < times[-1] - 0.1:
                before, after = (np.interp(second + late, times, high) for late in (-0.06, 0.06))
                here = np.interp(second, times, high)
                assert after > here - 0.01, "it does not go on downward"
                assert before + after > 2 * here, "it is sharply turned, up"


@needs_bench
@pytest.mark.parametrize("scene_of", ["tooled", "drummed"])
def test_tools_get_to_the_top_of_what_they_strike_at_each_contact(scene_of: str) -> None:
    on, seen = staged.setting(BENCH), 0
    for seed in range(12):
        scene = getattr(handled, scene_of)(on, np.random.default_rng(seed))
        coarse = 6 * float(np.diff(scene.clock.times).max())
        blocks = [thing for thing in scene.bodies[0].things if thing.form == "block"]
        for contact in scene.contacts:
            if scene.clock.times[0] < contact.seconds < scene.clock.times[-1]:
                (block,) = blocks
                gap = contact.place[1] - block.points[0, :4, 1].mean()
                assert -0.02 < gap < 0.06 + coarse, "metres: its own radius, and 6 m/s between"
                seen += 1
    assert seen > 20


@needs_bench
def test_acted_blows_that_stop_short_are_no_contacts() -> None:
    on = staged.setting(BENCH)
    for seed in range(5):
        assert not struck.acted_strike(on, np.random.default_rng(seed), feigned=1.0).contacts
        assert struck.acted_strike(on, np.random.default_rng(seed), feigned=0.0).contacts


def test_a_strike_that_stops_short_is_no_hit_and_stays_away() -> None:
    """The same fight with one strike landing, and stopping half a metre short."""
    spec = replace(fights.random_spec(200_003), frames=60)
    beat = fights.Beat(1.2, "straight punch", 0, speed=8.0, sell="none")
    gaps = []
    for short in (0.0, 0.5):
        shoot = fights.prepare(replace(spec, beats=(replace(beat, short=short),)))
        truth = fights.truth_of(shoot.spec, shoot.performance)
        assert len(truth["hits"]) == (0 if short else 1)
        ours, theirs = (who.joints(np.array([1.2]))[0] for who in shoot.performance.cast[:2])
        hand, head = ours[fights.Joint.HAND_R], theirs[fights.Joint.CROWN]
        gaps.append(float(np.linalg.norm(hand - head)))
    assert gaps[1] - gaps[0] > 0.3, "metres"


@needs_bench
def test_calm_people_strike_nobody() -> None:
    for number in (75, 76, 77, 84, 88, 90, 91, 10_075, 10_076):
        film = films.film("calm", number, BENCH)
        check_film(film)
        assert not film.hits


@needs_bench
def test_films_are_had_where_there_is_no_encoder() -> None:
    program = (
        "import sys; sys.modules['av'] = None; sys.path.append('../../samples')\n"
        "from pathlib import Path; from filming import films\n"
        "for kind, number in dict(strike=10_033, fight=39, thing=1, calm=10_091).items():\n"
        f"    films.film(kind, number, Path({str(BENCH)!r}))\n"
        "assert sys.modules.get('av') is None"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=SCRIPTS, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@needs_bench
def test_a_sheet_shows_a_row_for_each_hit(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.png"
    command = [
        sys.executable,
        "contact_sheet.py",
        str(BENCH),
        "thing",
        "1",
        "2",
        "--sheet",
        str(sheet),
    ]
    done = subprocess.run(command, cwd=SCRIPTS, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "thing 1, 50 frames" in done.stdout
    drawn = cv2.imread(str(sheet))
    assert drawn.shape[0] == 3 * importlib.import_module("contact_sheet").CELL[1]
