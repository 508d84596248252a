"""What nobody expected to go wrong: kept in a file that can be sent on, never shown as a traceback."""

from __future__ import annotations


def save_traceback(error: BaseException) -> str:
    """Writes the traceback to a file, and tells where."""
    import traceback
    from pathlib import Path

    from platformdirs import user_log_dir

    try:
        folder = Path(user_log_dir("onsite", appauthor=False))
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "unexpected.txt"
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError:
        return "Nothing was lost. Do it again; if it says the same, report what you did."
    return f"Nothing was lost. Details for a report are in {path}"
