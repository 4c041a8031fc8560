"""Commands, the options that several of them share, and what those options say together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from impactcut.cli.options.completion import names_of
from impactcut.cli.options.signing import signer
from impactcut.cli.program import complain, keep_debug
from impactcut.core.detect.confidence import SURE

if TYPE_CHECKING:
    from impactcut.core.time.frames import FrameRange
    from impactcut.project import Actor, Project
    from impactcut.workflow.hits.hit_filter import HitFilter

PATH: Final = click.Path(path_type=Path)
FILE: Final = click.Path(dir_okay=False, path_type=Path)
FOLDER: Final = click.Path(file_okay=False, path_type=Path)


def _flag(name: str, about: str) -> click.Option:
    return click.Option([name], is_flag=True, help=about)


def _of_clips(kind: str, about: str) -> click.Option:
    return click.Option([f"--{kind}"], metavar="NAME", help=about, shell_complete=names_of(kind))


def _stated(_: click.Context, __: click.Parameter, title: str | None) -> str | None:
    """A title that says something, or None where none is given."""
    if title is not None and not title.strip():
        raise click.BadParameter("the title is empty; write one, or leave the option out")
    return title


_OPTIONS: Final = (
    click.Option(
        ["--first"],
        type=click.IntRange(min=0),
        metavar="F",
        help="First frame to take out; goes with --count.",
    ),
    click.Option(
        ["--count"],
        type=click.IntRange(1, 3),
        metavar="N",
        help="How many frames to take out, 1 to 3.",
    ),
    _of_clips("section", "Only clips of this section of the fight."),
    _of_clips("take", "Only clips of this take."),
    _of_clips("angle", "Only clips from this angle."),
    _flag("--circled", "Only takes marked as ones to use."),
    _flag(
        "--flagged",
        "Only hits without a trim, or with one that may show, is uncertain or hard to believe.",
    ),
    _flag("--weak", "Only hits that read slow for this fight."),
    _flag("--late", "Only hits whose receiver reacts late."),
    _flag("--early", "Only hits whose receiver moves before contact."),
    _flag("--undecided", "Only hits that are undecided or put off till later."),
    click.Option(
        ["--confidence"],
        type=click.FloatRange(0, 1),
        default=SURE,
        show_default=True,
        metavar="C",
        help="Least confidence of the finds. On real people that it had never seen, the default "
        "found four of five acted blows, and 1.9 finds a minute where nobody strikes; 0.6 is "
        "strict (seven of ten; 0.7 a minute), 0.25 generous (seven of eight; 6.1).",
    ),
    _flag("--proposed", "Take proposals that nobody has answered, too."),
    click.Option(
        ["--title"],
        metavar="TEXT",
        callback=_stated,
        help="Title of the lists.  [default: the project's name; for a cut, its own and TRIMMED]",
    ),
    click.Option(
        ["--record-start"],
        metavar="TC",
        default="01:00:00:00",
        show_default=True,
        help="Record timecode of the first frame.",
    ),
    _flag("--force", "Replace files that are there already."),
    click.Option(
        ["--jobs"],
        type=click.IntRange(min=1),
        metavar="N",
        help="Clips to measure at once, one process each.  [default: one for each processor, "
        "at most 4]",
    ),
    click.Option(
        ["--patience"],
        type=click.FloatRange(min=0, min_open=True),
        metavar="SECONDS",
        help="Give up on a clip when none of its frames is measured for this long.  [default: 120]",
    ),
    click.Option(["--json", "as_json"], is_flag=True, help="Print JSON instead of a table."),
    _flag(
        "--taste",
        "Propose trims that gain and show as much as those approved in this project: "
        "'impactcut help teaching'.",
    ),
    click.Option(
        ["--who"],
        metavar="NAME",
        envvar="IMPACTCUT_WHO",
        show_envvar=True,
        help="Your name, kept with what you do.  [default: your login name]",
    ),
    click.Option(
        ["--fov"],
        type=click.FloatRange(0, 180, min_open=True, max_open=True),
        metavar="DEG",
        help="Horizontal angle that the picture fills for the viewer, in degrees.  [default: the "
        "one that 'scan' was last given, or 33]",
    ),
    click.Option(
        ["--project", "project_path"],
        type=FILE,
        envvar="IMPACTCUT_PROJECT",
        show_envvar=True,
        default=Path("impactcut.db"),
        show_default=True,
        metavar="FILE",
        help="The project file.",
    ),
    _flag("--quiet", "No progress; errors are still shown."),
    click.Option(
        ["--debug"],
        is_flag=True,
        is_eager=True,
        expose_value=False,
        callback=keep_debug,
        help="Show where in the program an error arose.",
    ),
)
SHARED: Final = {option.opts[0].removeprefix("--"): option for option in _OPTIONS}
"""Options by the name under which a command takes them."""
CLIPS: Final = "section take angle circled"
HITS: Final = f"{CLIPS} flagged weak late early undecided confidence"
"""Names of those that choose clips, and of those that choose hits."""


@dataclass(frozen=True)
class Common:
    """What the options say that commands of several kinds take; each as `SHARED` has it.

    Parameters
    ----------
    fov : float or None
        Degrees; None for what the project keeps.
    patience : float or None
        Seconds.
    """

    project_path: Path = Path("impactcut.db")
    fov: float | None = None
    taste: bool = False
    force: bool = False
    quiet: bool = False
    as_json: bool = False
    who: str | None = None
    jobs: int | None = None
    patience: float | None = None
    first: int | None = None
    count: int | None = None

    def project(self, *, reading: bool = False) -> Project:
        """The project, opened, to be read only or to be changed."""
        from impactcut.project import Project

        return Project(self.project_path, reading=reading, fov=self.fov, by_taste=self.taste)

    def frames(self) -> FrameRange | int | None:
        """The frames to take out; or how many; or None where neither is said."""
        from impactcut.core.time.frames import FrameRange

        if self.count is None and self.first is not None:
            raise click.UsageError("--first needs --count")
        if self.count is None or self.first is None:
            return self.count
        return FrameRange(self.first, self.first + self.count)

    def signer(self) -> str:
        """The name of whoever acts; `click.UsageError` if there is none."""
        return signer(self.who)

    def actor(self) -> Actor:
        """Whoever acts, now."""
        from impactcut.project import Actor
        from impactcut.workflow.clock import now

        return Actor(self.signer(), now())


class Command(click.Command):
    """A command whose function takes its `Common` options as one value, and returns an exit code.

    Options that choose clips and hits come, with ``paths``, as ``wanted``, a `HitFilter`.
    """

    def invoke(self, ctx: click.Context) -> None:
        """Run it, and leave with its exit code."""
        given = ctx.params
        if "section" in given:
            from impactcut.workflow.hits.hit_filter import HitFilter

            given["wanted"] = HitFilter(**_taken(given, HitFilter))
        given["common"] = Common(**_taken(given, Common))
        ctx.exit(super().invoke(ctx) or 0)


def examples(*lines: str) -> str:
    """Command lines to stand at the end of a command's help, as they are to be typed."""
    return "\n".join(("\b", "Examples:", *(f"  {line}" for line in lines)))


def command(
    *lines: str, takes: str = "", of: click.Group | None = None, name: str | None = None
) -> Callable[[Callable[..., int | None]], click.Command]:
    """Make a command of a function.

    Parameters
    ----------
    lines : str
        Command lines for the end of its help, as they are to be typed.
    takes : str
        Names of `SHARED`, with blanks between, in the order of the help.
    of : click.Group, optional
        The command of which it is a part.
    name : str, optional
        Where it is not the function's.
    """
    make = click.command if of is None else of.command

    def made(function: Callable[..., int | None]) -> click.Command:
        own = make(name, cls=Command, epilog=examples(*lines))(function)
        own.params += [SHARED[each] for each in (*takes.split(), "debug")]
        return own

    return made


def check_filter(project: Project, wanted: HitFilter) -> tuple[HitFilter, tuple[Path, ...]]:
    """What is asked for, and the paths in it that match no clip, each named on an error line.

    In place of what clips are called it has their files.

    Raises
    ------
    ProjectError
        If no clip is measured yet, or none is of the section, take or angle asked for.
    """
    from impactcut.workflow.hits.hit_filter import check_measured, check_names

    check_measured(project)
    check_names(project, wanted)
    if wanted.paths:
        from impactcut.workflow.hits.names import Names

        wanted = replace(wanted, paths=tuple(map(Names(project).file, wanted.paths)))
    return wanted, tell_unmatched(project, wanted.paths)


def tell_unmatched(project: Project, paths: tuple[Path, ...]) -> tuple[Path, ...]:
    """The paths that match no clip, each named on an error line."""
    from impactcut.workflow.hits.hit_filter import unmatched_paths

    missing = unmatched_paths(project, paths)
    for path in missing:
        complain(f"{path}: no measured clip of the project; 'impactcut scan' takes it in")
    return missing


def _taken(given: dict[str, Any], kind: Any) -> dict[str, Any]:
    """Those of the values that a dataclass holds, taken out."""
    return {each.name: given.pop(each.name) for each in fields(kind) if each.name in given}
