"""How hits read on screen; the source of each limit stands beside its check."""

from __future__ import annotations

from fractions import Fraction

import pytest

from impactcut.core.fight.reading import late_reaction, read_hit, usual_speed
from impactcut.core.takes.scale import Scale, parse_scale
from impactcut.core.viewer.judge import Judge
from tests.helpers.projects.project_values import make_hit

FILM = Fraction(24)


def test_a_hit_is_weak_beside_its_fight() -> None:
    """0.6 of the median is an engineering choice without a source."""
    fight = (1.0, 2.0, 2.0, 3.0)
    usual = usual_speed(fight)
    weak = [bool(read_hit(make_hit(peak_speed=speed), FILM, usual).weak) for speed in fight]
    assert weak == [True, False, False, False]
    assert read_hit(make_hit(peak_speed=1.19), FILM, usual).weak
    assert not read_hit(make_hit(peak_speed=1.2), FILM, usual).weak
    assert "1.00 picture widths a second" in read_hit(make_hit(peak_speed=1.0), FILM, usual).weak
    assert usual_speed([]) is None
    assert not read_hit(make_hit(peak_speed=0.1), FILM, None).weak
    assert not read_hit(make_hit(peak_speed=0.1), FILM, usual_speed([0.1])).weak
    # Of a limb that was not seen nobody knows how fast it was.
    assert usual_speed([0.0, 2.0, 0.0]) == 2.0 and usual_speed([0.0]) is None
    unseen = read_hit(make_hit(peak_speed=0.0), FILM, 2.0, Scale(2, 0.5))
    assert not unseen.weak and unseen.limb_speed is None


@pytest.mark.parametrize(("metres", "weak"), [(4.0, False), (2.0, True)])
def test_a_hit_is_weak_beside_published_punches(metres: float, weak: bool) -> None:
    """Walilko, Viano & Bir 2005: 9.14 +/- 2.06 m/s; two deviations below the mean is 5.02.

    0.2 widths a second across 4 m are 0.8 m/s +/- 25 %, at least 0.11 of the fist's: up to 9.1 m/s.
    Across 2 m they are up to 4.5 m/s.
    """
    scale = Scale(metres, metres / 4)
    reading = read_hit(make_hit(peak_speed=0.2), FILM, 0.2, scale)
    assert reading.limb_speed is not None
    assert reading.limb_speed.high == pytest.approx(0.2 * 1.25 * metres / 0.11)
    assert reading.limb_speed.low == pytest.approx(0.2 * 0.75 * metres / 0.19)
    assert bool(reading.weak) is weak
    assert ("9.1 +- 2.1 m/s" in reading.weak and "Walilko" in reading.weak) is weak


@pytest.mark.parametrize(
    ("lag", "rate", "late", "early"),
    [
        (2, 24, False, False),
        (3, 24, True, False),
        (3, 30, False, False),
        (5, 50, False, False),
        (6, 50, True, False),
        (0, 24, False, False),
        (-1, 24, False, True),
        (None, 24, False, False),
    ],
)
def test_late_and_early(lag: int | None, rate: int, late: bool, early: bool) -> None:
    """Late: past 100 ms, where Michotte's launching effect weakens (secondary source)."""
    hit = make_hit(60, reaction=None if lag is None else 60 + lag)
    reading = read_hit(hit, Fraction(rate), None)
    assert (bool(reading.late), bool(reading.early)) == (late, early)
    assert len(reading.remarks) == late + early


def test_reasons_give_frames_and_milliseconds() -> None:
    early = read_hit(make_hit(60, reaction=58), FILM, None).early
    assert early == "the receiver moves 2 frames (83 ms) before contact"
    assert "3 frames (125 ms)" in read_hit(make_hit(60, reaction=63), FILM, None).late


@pytest.mark.parametrize(
    ("text", "scale"),
    [
        ("4", Scale(4, 0.8)),
        (" 3.5 m", Scale(3.5, 0.7)),
        ("3,5+-1", Scale(3.5, 1)),
        ("4 +/- 0.5 m", Scale(4, 0.5)),
        ("4±1", Scale(4, 1)),
    ],
)
def test_scales_as_people_write_them(text: str, scale: Scale) -> None:
    assert parse_scale(text).metres == pytest.approx(scale.metres)
    assert parse_scale(text).error == pytest.approx(scale.error)
    assert str(parse_scale(str(scale))) == str(scale)


@pytest.mark.parametrize("text", ["", "wide", "-4", "0", "4+-4", "4+-5", "4 5", "nan", "4 feet"])
def test_what_is_no_scale_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"metres"):
        parse_scale(text)


def test_a_reaction_on_the_line_is_not_late() -> None:
    # Arithmetic: three frames at 25 a second are 120 ms exactly, and the line is 120 ms.
    limits = Judge(late_reaction_seconds=0.12)
    assert not late_reaction(3, Fraction(25), limits)
    assert late_reaction(4, Fraction(25), limits)
