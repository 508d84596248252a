"""How long a test waits for what another thread or process does."""

from __future__ import annotations

PATIENCE = 120.0
"""Seconds after which something that does not happen has failed; generous, for a busy machine."""
