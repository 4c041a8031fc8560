"""The picture of a hit: what is drawn is what was measured and judged.

The palette is held against the hexadecimal values that Okabe & Ito published (Color Universal
Design, 2008); a PNG file's size is read from its header (ISO/IEC 15948, chunk IHDR).
"""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from impactcut.core.fight.entries import HitEntry
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.propose import best_for_each_count, propose
from impactcut.project import Project
from impactcut.workflow.pictures.hit_plot import SIZE, STRIP_WIDTH, hit_figure
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.projects.staged_motion import CLIP_FRAMES, CONTACT, Staging, staged
from tests.helpers.running.commands import run_command

OKABE_ITO = {
    "#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7",
}  # fmt: skip


def drawn(
    staging: Staging, keep_clear: tuple[FrameRange, ...] = (), **changes: object
) -> tuple[HitEntry, HitMotion, Figure]:
    hit, motion = staged(staging)
    hit = replace(hit, **changes)  # type: ignore[arg-type]
    proposal = propose(hit, motion, CLIP_FRAMES, keep_clear=keep_clear)
    entry = HitEntry(17, make_clip(), hit, proposal, None)
    return entry, motion, hit_figure(entry, motion)


def lines(axes: Axes) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    return {
        line.get_gid(): (np.asarray(line.get_xdata()), np.asarray(line.get_ydata()))
        for line in axes.get_lines()
        if line.get_gid()
    }


def words(figure: Figure) -> str:
    figure.draw_without_rendering()
    axes_texts = [text.get_text() for axes in figure.axes for text in axes.texts]
    legends = [axes.get_legend() for axes in figure.axes]
    named = [text.get_text() for legend in legends if legend for text in legend.get_texts()]
    return " | ".join([*(text.get_text() for text in figure.texts), *axes_texts, *named])


def test_curves_are_the_measured_speeds() -> None:
    _, motion, figure = drawn(Staging(camera="panning"))
    curves = lines(figure.axes[0])
    camera = motion.channels[2].displacement.astype(float)
    for name, channel in (("strike", motion.channels[0]), ("receiver", motion.channels[1])):
        at, speed = curves[name]
        np.testing.assert_allclose(at, motion.first + 0.5 + np.arange(motion.intervals))
        own = channel.displacement - camera
        np.testing.assert_allclose(speed, 24 * np.linalg.norm(own, axis=1), rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(curves["background"][1], 24 * np.linalg.norm(camera, axis=1))


def test_moments_stand_at_their_frames() -> None:
    entry, _, figure = drawn(Staging(lag=2))
    moments = lines(figure.axes[0])
    for name, frame in (
        ("onset", entry.impact.onset),
        ("contact", CONTACT),
        ("settled", entry.impact.settle),
        ("receiver reacts", CONTACT + 2),
    ):
        assert list(moments[name][0]) == [frame, frame]
    _, _, unanswered = drawn(Staging(), reaction=None)
    assert "receiver reacts" not in lines(unanswered.axes[0])


def test_bars_cover_the_frames_that_go() -> None:
    entry, _, figure = drawn(Staging())
    bars = {bar.get_y() + bar.get_height() / 2: bar for bar in figure.axes[1].patches}
    for count, trim in best_for_each_count(entry.proposal).items():
        bar = bars[count - 1]
        assert (bar.get_x(), bar.get_width()) == (trim.first - 0.5, count)


def test_every_trim_is_a_mark_and_lines_warn() -> None:
    # Warning lines: 9 % and 18 % over 6 % (de'Sperati & Baud-Bovy 2017; McKee & Nakayama 1984).
    entry, _, figure = drawn(Staging(), (FrameRange(CONTACT + 2, CONTACT + 4),))
    below = lines(figure.axes[2])
    for count in (1, 2, 3):
        for form, barred in ((f"trims {count} _barred", True), (f"trims {count}", False)):
            found = next(xy for name, xy in below.items() if _is_of(name, form, barred))
            trims = [t for t in entry.proposal.trims if t.count == count]
            wanted = [(t.visibility, t.speed_gain) for t in trims if bool(t.vetoes) == barred]
            np.testing.assert_allclose(np.transpose(found), wanted)
    assert below["warning line"][0][0] == pytest.approx(1.5)
    assert below["jump"][0][0] == pytest.approx(3.0)
    chosen = entry.proposal.proposed
    assert chosen is not None
    assert below["proposed"][0][0] == chosen.visibility
    assert "hollow: must not be made" in words(figure)


def test_the_front_row_reaches_from_what_most_see_to_what_it_sees() -> None:
    entry, _, figure = drawn(Staging(camera="panning"))
    below = lines(figure.axes[2])
    for count, trim in entry.best.items():
        shown, gain = below[f"front row {count}"]
        assert trim.front_row is not None
        assert list(shown) == [trim.visibility, trim.front_row]
        assert list(gain) == [trim.speed_gain] * 2
    assert words(figure).count("front row (60 degrees)") == 1


def test_the_speed_of_tables_stands_beside_the_mean_of_the_limb() -> None:
    entry, _, figure = drawn(Staging())
    at, speed = lines(figure.axes[0])["fastest part"]
    assert (list(at), list(speed)) == ([entry.impact.peak + 0.5], [entry.impact.peak_speed])
    assert figure.axes[0].get_ylim()[1] > entry.impact.peak_speed
    assert "the limb's fastest part (speed in tables)" in words(figure)


def _is_of(name: str, form: str, barred: bool) -> bool:
    return name == form if barred else name.startswith(form) and not name.endswith("_barred")


def test_it_says_what_is_what() -> None:
    _, _, figure = drawn(Staging())
    said = words(figure)
    for text in (
        "Hit 17 in S2_T3_B.mov: contact frame 100",
        "Proposed: take out the frame 1 before contact",
        "striking limb",
        "receiver",
        "background (camera)",
        "contact",
        "onset",
        "warning line",
        "attentive viewers",
        "1.18 anybody feels it",
        "33 degrees",
        "uncalibrated",
    ):
        assert text in said
    _, _, nothing = drawn(Staging(camera="panning", pan=0.15))
    assert "Nothing proposed: every trim that gains shows" in words(nothing)


def test_colours_are_those_of_the_palette_or_grey() -> None:
    _, _, figure = drawn(Staging(), reaction=CONTACT - 1)
    colours = {to_hex(line.get_color()) for axes in figure.axes for line in axes.get_lines()}
    colours |= {to_hex(bar.get_facecolor()) for bar in figure.axes[1].patches}
    greys = {colour for colour in colours if colour[1:3] == colour[3:5] == colour[5:]}
    assert colours - greys and colours - greys <= OKABE_ITO
    styles = {str(line.get_linestyle()) for line in figure.axes[0].get_lines()[:3]}
    assert len(styles) == 3


def test_trims_plot_writes_a_png(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with Project(Path("impactcut.db"), create=True) as project:
        clip = make_clip()
        keep_clip(project, clip, 100)
    plotted = run_command("trims", "1", "--plot", "hit.png")
    assert plotted.exit_code == 0, plotted.output
    header = Path("hit.png").read_bytes()[:24]
    assert header[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", header[16:24]) == SIZE
    again = run_command("trims", "1", "--plot", "hit.png")
    assert again.exit_code == 2
    assert "hit.png: already there" in again.stderr
    assert run_command("trims", "1", "--plot", "hit.png", "--force").exit_code == 0
    named = run_command("trims", "1", "--plot", "hit.jpg")
    assert named.exit_code == 2 and "must end in .png" in named.stderr
    nowhere = run_command("trims", "1", "--plot", "/proc/no/hit.png")
    assert nowhere.exit_code == 2 and "cannot be written" in nowhere.stderr


def test_the_strip_stands_above_the_curves_and_moves_nothing() -> None:
    entry, motion, without = drawn(Staging())
    strip = np.full((191, STRIP_WIDTH, 3), (10, 200, 90), np.uint8)
    figure = hit_figure(entry, motion, strip)
    taller = figure.get_size_inches()[1] * 100
    assert taller > SIZE[1] + 191
    for before, after in zip(without.axes, figure.axes, strict=True):
        low, high = (axes.get_position() for axes in (before, after))
        assert low.y0 * SIZE[1] == pytest.approx(high.y0 * taller)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[:, :, :3]
    rows = np.flatnonzero((pixels == (90, 200, 10)).all(axis=2).any(axis=1))
    assert len(rows) == 191
    assert taller - rows.max() > figure.axes[0].get_position().y1 * taller
