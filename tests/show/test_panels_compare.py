"""The comparison's picture and sheet: cells are the readings, bars add up to the totals, weights decide."""

from __future__ import annotations

import numpy as np
import pytest

import lutherie_geom as lg
from lutherie_geom.show import panels_compare as panel
from lutherie_geom.studies.comparing import Comparison, compare


@pytest.fixture(scope="module")
def table() -> Comparison:
    return compare(lg.load("slack_water"), ["fixed_and_shimmed", "full_width_hinge", "wedge", "upper_pivot_cone_and_vee"])


def test_table_holds_every_reading_and_total(table: Comparison) -> None:
    drawing = panel.table_picture(table)
    axes = drawing.axes[0]
    cells = [t.get_text() for t in axes.texts]
    n, m = table.values.shape
    assert len(cells) == n * (m + 1)
    totals = [float(c) for c in cells[m::m + 1]]
    assert totals == sorted(totals, reverse=True) == pytest.approx(np.sort(np.round(table.totals))[::-1])
    assert cells.count("–") == np.isnan(table.values).sum()
    assert table.best.name.lower() in axes.get_title(loc="left")


def test_weights_move_the_bars(table: Comparison) -> None:
    sheet = panel.weights_sheet(table)
    first = sheet.png
    own = table.weighed_groups({})
    axes = sheet.figure.axes[0]

    def totals() -> np.ndarray:
        ends = np.zeros(len(table.names))
        for bar in axes.collections:
            for k, path in enumerate(bar.get_paths()):
                assert path.vertices[:, 0].min() == pytest.approx(ends[k], abs=1e-9)
                ends[k] = path.vertices[:, 0].max()
        return ends

    np.testing.assert_allclose(totals(), own.totals)
    sheet.set(strength=5.0, setting=0.0)
    np.testing.assert_allclose(totals(), table.weighed_groups({"strength": 5.0, "setting": 0.0}).totals)
    assert sheet.png != first and sheet.text.startswith(table.names[int(np.argmax(np.round(totals(), 9)))])
    sheet.set(**{c.name: 0.0 for c in sheet.controls})
    assert "nothing counts" in sheet.text and sheet.error is None
    sheet.reset()
    assert sheet.png == first
    with pytest.raises(ValueError, match="no group 'beauty'"):
        table.weighed_groups({"beauty": 1.0})
