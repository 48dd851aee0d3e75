"""Comparison of a computed number with a published one; a failure names the source."""

from __future__ import annotations

import pytest


@pytest.fixture
def near():
    def compare(found, expected, tolerance, source):
        assert abs(found - expected) <= tolerance, f"found {found:.10g}, published {expected:.10g} +- {tolerance:g} ({source})"

    return compare
