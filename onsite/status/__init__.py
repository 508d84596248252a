"""Where everybody stands. Derived from what happened, never stored."""
