"""Stages by shape: a cell that fills from below until somebody is photographed, then a round that fills as
their picture gets further. The word stands beside it."""

from __future__ import annotations

from onsite.progress.stage import Stage

SHAPES = {
    Stage.EXPECTED: "▁",
    Stage.ARRIVED: "▄",
    Stage.PHOTOGRAPHED: "▇",
    Stage.PROOFED: "○",
    Stage.PICKED: "◔",
    Stage.AT_RETOUCH: "◑",
    Stage.RETOUCHED: "◕",
    Stage.DELIVERED: "●",
}
