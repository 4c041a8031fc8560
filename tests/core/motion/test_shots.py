"""Shot boundaries: cuts are found, flashes, pans and fast action are not."""

import cv2
import numpy as np
from skimage import data

from impactcut.core.motion.shots import TILES, shot_boundaries
from tests.helpers.footage.moving_pictures import moved, texture


def tiles(pictures: list[np.ndarray]) -> np.ndarray:
    small = [cv2.resize(p, TILES[::-1], interpolation=cv2.INTER_AREA) for p in pictures]
    return np.stack(small).astype(np.float32) / 255


def scene(name: str, count: int, speed: float = 1.0) -> list[np.ndarray]:
    picture = {"wall": texture, "deck": lambda: cv2.resize(data.brick(), (320, 180))}
    other = {"camera": data.camera, "coins": data.coins}
    base = picture[name]() if name in picture else cv2.resize(other[name](), (320, 180))
    return [moved(base, right=speed * k) for k in range(count)]


def test_a_cut_is_found_where_it_is_and_nowhere_else():
    cut = tiles([*scene("camera", 15), *scene("coins", 15)])
    assert np.flatnonzero(shot_boundaries(cut)).tolist() == [14]


def test_two_cuts_close_together_are_both_found():
    three = tiles([*scene("camera", 12), *scene("coins", 8), *scene("camera", 12)])
    assert np.flatnonzero(shot_boundaries(three)).tolist() == [11, 19]


def test_a_flash_is_no_boundary():
    pictures = scene("camera", 30)
    pictures[14] = np.clip(pictures[14].astype(int) * 2 + 60, 0, 255).astype(np.uint8)
    assert not shot_boundaries(tiles(pictures)).any()


def test_a_whip_pan_is_no_boundary():
    wide = cv2.resize(data.camera(), (1600, 900))
    pictures = [wide[300:480, 100 + 70 * k : 420 + 70 * k] for k in range(16)]
    assert not shot_boundaries(tiles(pictures)).any()


def test_a_clip_of_two_frames_is_judged_without_neighbours():
    assert shot_boundaries(tiles(scene("wall", 2))).tolist() == [False]
