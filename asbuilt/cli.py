"""The command `asbuilt`: its commands, and how it ends.

Exit status: 0 done; 1 done, but records were set aside or files differ, and --strict was given; 2 the inputs or
options are wrong, and nothing was written; 3 the program failed; 130 interrupted.
"""

from __future__ import annotations

import signal
import sys
from types import FrameType
from typing import NoReturn

import click

from asbuilt.commands import comparing, jobs, register, reviewing, serving, sheet, spared
from asbuilt.commands.options import DONE, FAILED, INTERRUPTED, WRONG_INPUT
from asbuilt.errors import AsbuiltError, said_outside, written_down
from asbuilt.terminal import screen
from asbuilt.version import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="asbuilt")
def cli() -> None:
    """Turn a pipe crew's joint log and a surveyed centerline into joint records on a utility's map.

    \b
    Example, the first thing to try:
        asbuilt demo
    """


for _command in (
    jobs.demo, sheet.sheet, jobs.columns, jobs.check, jobs.place, jobs.map_joints, reviewing.review, register.load,
    register.find, register.mark, register.conflicts, register.main, register.info, serving.serve, comparing.compare,
):  # fmt: skip
    cli.add_command(_command)


def main() -> NoReturn:
    """Run a command and end with its exit status."""
    # Who started this may end it so (the desktop GIS does): as after Ctrl+C, nothing half-written stays.
    signal.signal(signal.SIGTERM, _interrupted)
    screen.prepare()
    spared.for_one_command()
    sys.exit(run(sys.argv[1:]))


def _interrupted(number: int, frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt


def run(arguments: list[str]) -> int:
    """Run a command given as its arguments, and give its exit status.

    Examples
    --------
    >>> run(["check", "no-such-job.toml"])
    2
    """
    try:
        status = cli.main(arguments, prog_name="asbuilt", standalone_mode=False)
        screen.finish()
    except AsbuiltError as error:
        screen.complain(str(error))
        return WRONG_INPUT
    except click.ClickException as error:
        error.show()
        return WRONG_INPUT
    except (click.Abort, KeyboardInterrupt):
        screen.complain("interrupted: an output that was being written is left as it was before")
        return INTERRUPTED
    except OSError as error:
        said = said_outside(error)
        screen.complain(said or written_down(error))
        return WRONG_INPUT if said else FAILED
    except Exception as error:
        screen.complain(written_down(error))
        return FAILED
    return status if isinstance(status, int) else DONE
