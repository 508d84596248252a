"""Stages by shape: a cell that fills from below as somebody gets further. The word stands beside it."""

from __future__ import annotations

from onsite.progress.stage import Stage

SHAPES = {Stage.EXPECTED: "▁", Stage.ARRIVED: "▄", Stage.PHOTOGRAPHED: "▇"}
