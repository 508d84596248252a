"""The command line: thin functions that read what was typed, call the packages and print their answers.

Begin with `run`, which carries out one command line, and `command_tree`, which lists all commands.
"""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from io import TextIOWrapper

from onsite.cli.common_options import after_command, common_options, take_common
from onsite.core.errors import Problem, path_problem, save_traceback

_INTERRUPTED = 130
"""What Typer makes of a Ctrl-C in a command."""
_STOPPED = "Stopped. What was done so far is kept."


def main() -> None:
    """Run the command line of this process and exit with its status."""
    gc.set_threshold(
        10_000
    )  # new objects: at the usual 700 a tenth of most commands goes by while they import
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a name that the output's encoding lacks is written as escapes
            stream.reconfigure(errors="backslashreplace")
    status = run(sys.argv[1:])
    try:
        sys.stdout.flush()
    except OSError:  # it was said already that the answer cannot be written
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(status)


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit status: 0 done, 1 unexpected, 2 refused, 3 done in part."""
    import typer

    from onsite.cli.command_tree import root_command

    try:
        status = root_command.main(take_common(arguments), prog_name="onsite", standalone_mode=False)
        if status == _INTERRUPTED:
            return _tell(1, _STOPPED, "")
        return status if isinstance(status, int) else 0
    except Problem as problem:
        return _refused(problem.what, problem.remedy)
    except typer.TyperException as error:
        context = getattr(error, "ctx", None)
        command = context.command_path if context else "onsite"
        return _refused(error.format_message(), f"See: {command} --help")
    except (KeyboardInterrupt, typer.Abort):
        return _tell(1, _STOPPED, "")
    except (BrokenPipeError, SystemExit):  # nobody reads on: Typer exits then
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        if isinstance(error, OSError) and "--help" in arguments:
            return _refused(f"The help cannot be written: {error.strerror}.", "Free some space there.")
        if known := path_problem(error) or _damage():
            return _refused(known.what, known.remedy)
        return _tell(
            1, f"Something unexpected went wrong: {type(error).__name__}: {error}", save_traceback(error)
        )
    finally:
        after_command.close()


def _damage() -> Problem | None:
    """What is damaged in the chosen shoot: then an unexpected error is the damage's, not the program's."""
    from onsite.cli.common_options import chosen_folder
    from onsite.store.check_event_record import find_damage

    try:
        return find_damage(chosen_folder())
    except Problem:
        return None


def _refused(what: str, remedy: str) -> int:
    return _tell(2, what, remedy)


def _tell(status: int, what: str, remedy: str) -> int:
    """Print an error and its remedy on standard error, with --json also as an object on standard output."""
    from onsite.core.text import shown

    what, remedy = shown(what), shown(remedy)
    sys.stderr.write(what + "\n" + (remedy + "\n" if remedy else ""))
    if common_options.as_json:
        from onsite.cli.output import json_line

        with suppress(OSError):  # it stands on standard error
            sys.stdout.write(json_line({"error": what, "remedy": remedy}))
            sys.stdout.flush()
    return status
