"""The page on the model: its numbers and curves are the model's own, checked by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.judge import Judge
from model_page import PICTURES, page, picture, write_page

PARAMETERS = Judge()


def curve(name: str, number: int = 0) -> tuple[np.ndarray, np.ndarray]:
    line = picture(name, PARAMETERS).axes[0].get_lines()[number]
    return np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)


def test_curves_against_numbers_made_by_hand() -> None:
    rates, skips = curve("skip")
    # 30 % of speed through the filter of Werkhoven et al. 1992: 300 ms over its peak response.
    peaks = {24: 8.80, 25: 8.83, 30: 8.94, 48: 9.09, 60: 9.13}
    for rate, peak in peaks.items():
        assert np.interp(rate, rates, skips) == pytest.approx(300 / peak, rel=0.005)
        assert np.interp(rate, *curve("response")) == pytest.approx(peak, abs=0.006)
    gains, units = curve("gain")
    assert np.interp(1.06, gains, units) == pytest.approx(1, abs=0.01)  # McKee & Nakayama 1984
    areas, factors = curve("area")
    assert np.interp(16, areas, factors) == pytest.approx(2, abs=0.02)  # 16 ** (1 / 4)
    jumps, shown = curve("visibility")
    assert np.interp(1.1, jumps, shown) == pytest.approx(1, abs=0.01)  # 2.2 arcmin, half by an edge


def test_the_page_is_written_with_every_picture_and_number(tmp_path: Path) -> None:
    write_page(tmp_path, None)
    text = (tmp_path / "model.md").read_text("utf-8")
    assert "uncalibrated" in text
    for name in PICTURES:
        assert f"({name}.png)" in text
        assert (tmp_path / f"{name}.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    assert "| `position_step` | 2.2 |" in text and "| 24 | 34.1 |" in text
    fitted = Calibration(4.0, 0.1, 2.5, (0.4, 0.03, 0.2), 480, 4)
    assert "| `position_step` | 4 |" in page(fitted)
    assert "calibrated on 480 answers" in page(fitted)
