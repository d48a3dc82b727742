"""The commands, wired together: options in, one answer out.

Each command is one line from file to answer. What takes time to import is imported by the command
that uses it, so that --help answers at once.
"""

import atexit
import gc
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from . import completing, options, plainly
from .declared import Command, argument, option
from .ending import INTERRUPTED, finish, unprinted
from .job.entries.wanted import WANTED
from .job.reading.outside import allow_outside
from .options import AsJson, BeforeOr, Force, Full, JobPath, OfCylinder, OfGear, Shelf, Strict, With

if TYPE_CHECKING:
    from .page.answer import Answer

COMMANDS: list[Command] = []  # in the order in which --help lists them
COMPLETES = "_TALLSTACK_COMPLETE"  # what a shell sets that asks for completion


def _command(says: str, example: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return what makes a command of a function; its help is no docstring, which Python can be told to leave out."""

    def declared(run: Callable[..., None]) -> Callable[..., None]:
        COMMANDS.append(Command(run, f"{says}\n\nExample: tallstack {example}"))
        return run

    return declared


def main() -> None:
    """Run the command line.

    One thread multiplies matrices, unless the environment says how many: they are small, and a second one that waits for
    work takes a third of the processor time of `pushrods` on two idle cores.

    Collecting garbage is switched off: one command makes little of it, importing a lot of modules would trigger it dozens
    of times, and at the end of a process it takes a tenth of the time of `pushrods`.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read as numpy is loaded
    gc.disable()
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)  # what is left then goes with the process
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        _run(sys.argv[1:])
    except OSError as error:  # of what prints itself, as --help; a command's own ends in `finish`
        sys.exit(unprinted(str(error.strerror)))
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    finally:
        gc.enable()


def _run(words: Sequence[str]) -> None:
    """Run the command that a line asks for: read here where it is plainly well formed, or else by typer."""
    is_asked = COMPLETES in os.environ
    call = None if is_asked else plainly.read(words, COMMANDS)
    if call is not None:
        _everything()
        call.run()
        return
    from .with_typer import parser

    completing.joined(os.environ)
    named = "" if is_asked else next(iter(words), "")
    # However it was started, a shell completes by that name.
    parser(tuple(COMMANDS), IN_FRONT, named)(prog_name="tallstack")


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        import typer

        typer.echo(f"tallstack {version('tallstack')}")
        raise typer.Exit


def _everything(
    version: Annotated[
        bool, option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    outside: Annotated[
        bool, option("--allow-outside", help="Let a job read files outside its own folder.")
    ] = False,
) -> None:
    """Take what stands in front of a command."""
    allow_outside(outside)


IN_FRONT = Command(
    _everything,
    "Work out the valve gear of a pushrod engine from what can be measured on the bench.\n\nStart with: tallstack demo",
)


@_command("Write an invented job by the bench route and say where it stands.", "demo my-first-job")
def demo(
    folder: Annotated[Path, argument(metavar="[FOLDER]", help="Where to write the demo's files.")] = Path(
        "tallstack-demo"
    ),
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import demo as command

        return command.answer(folder, force)

    finish(run)


@_command(
    "Start a job file, asked for in the order one measures, or go on with one that is half filled.",
    "new twin.toml --blank",
)
def new(
    file: Annotated[
        Path,
        argument(
            metavar="FILE",
            help="The job file to start.",
            show_default=False,
            autocompletion=completing.jobs,
        ),
    ],
    blank: Annotated[bool, option("--blank", help="Write a commented file to fill in.")] = False,
    units: Annotated[
        str, option("--units", metavar="mm|in", help="Units of bare numbers.", show_default=False)
    ] = "",
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import new as command

        return command.answer(file, blank, units, force)

    finish(run)


@_command("List what to measure: letter, tool and a blank for each reading.", "measure")
def measure(
    file: Annotated[
        Path | None,
        argument(
            metavar="[FILE]",
            help="The job file; without it, any engine.",
            show_default=False,
            autocompletion=completing.jobs,
        ),
    ] = None,
    wanted: Annotated[
        list[str] | None,
        option(
            "--for",
            metavar="ANSWER",
            help=f"{', '.join(WANTED)}; clearance, and fits for all from compression on; repeatable.",
            show_default="what the job says is wanted, else pushrods and clearance",
        ),
    ] = None,
    units: Annotated[str, option("--units", metavar="mm|in", help="Without a job: of the list.")] = "in",
    out: Annotated[
        Path | None,
        option("-o", "--output", metavar="FILE", help="To print: .pdf or .html.", show_default=False),
    ] = None,
    paper: Annotated[str, option("--paper", metavar="a4|letter", help="Of the .pdf.")] = "a4",
    with_: With = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import measure as command

        return command.answer(file, units, wanted or (), with_ or (), out, paper, force)

    finish(run, as_json)


@_command(
    "Say what a job file holds, what is assumed, what is open and what moves the answers.", "check job.toml"
)
def check(file: JobPath, with_: With = None, as_json: AsJson = False) -> None:
    def run() -> "Answer":
        from .commands import check as command
        from .commands.trying import trying

        return trying(file, with_ or (), command.answer, probe=command.moved_by)

    finish(run, as_json)


@_command(
    "Work out the length of every pushrod, what fits from a shelf, and where to set it.",
    'pushrods job.toml --with stack.head_gasket="0.030 in"',
)
def pushrods(
    file: JobPath,
    shelf: Shelf = None,
    with_: With = None,
    full: Full = False,
    as_json: AsJson = False,
    strict: Strict = False,
) -> None:
    def run() -> "Answer":
        from .commands import pushrods as command
        from .commands.trying import trying

        return trying(file, with_ or (), lambda job: command.answer(job, strict, shelf), ("pushrods",))

    finish(run, as_json, full)


@_command(
    "Say how close every valve comes to its piston and to the other valve, and what would mend it.",
    "clearance job.toml --with cam.advance=2",
)
def clearance(
    file: JobPath,
    with_: With = None,
    timing: Annotated[
        float | None,
        option(
            "--timing",
            metavar="DEGREES",
            help="Also with the cam up to so many crank degrees earlier and later.",
            show_default=False,
        ),
    ] = None,
    plot: Annotated[Path | None, option("--plot", metavar="OUT", help="Draw it: .svg, .png or .pdf.")] = None,
    full: Full = False,
    as_json: AsJson = False,
    strict: Strict = False,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import clearance as command
        from .commands.trying import trying

        return trying(
            file,
            with_ or (),
            lambda job: command.answer(job, strict, timing, plot, force),
            ("clearance",),
            None if plot is None else lambda job: command.answer(job, strict, timing).document,
        )

    finish(run, as_json, full)


@_command(
    "Draw one valve gear and its stack, one cylinder, or the whole engine.",
    "draw job.toml -o gear.svg",
)
def draw(
    file: JobPath,
    name: Annotated[
        str | None,
        argument(
            metavar="[NAME]",
            help="The valve gear, as front.intake, the cylinder, as front, or engine.",
            show_default=False,
            autocompletion=completing.drawn,
        ),
    ] = None,
    out: Annotated[
        Path | None,
        option(
            "-o", "--output", metavar="FILE", help="Where to draw: .svg, .png or .pdf.", show_default=False
        ),
    ] = None,
    at: Annotated[
        float,
        option(
            "--at", metavar="DEG", help="Of the engine: crank after the first cylinder's overlap top centre."
        ),
    ] = 0.0,
    section: Annotated[
        bool, option("--section", help="Cut through valve and crown where they come closest.")
    ] = False,
    with_: With = None,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import draw as command
        from .commands.trying import trying

        to = command.named(out)
        return trying(
            file,
            with_ or (),
            lambda job: command.answer(job, name, to, force, at, section),
            probe=lambda job: command.seen(job, name, at, section),
        )

    finish(run)


@_command(
    "Say where a job stands, the worst first, over every answer: what stops it, what to order, what is closest. Of a "
    "folder: every job in it.",
    "overview job.toml",
)
def overview(
    file: Annotated[
        Path,
        argument(
            metavar="FILE|FOLDER",
            autocompletion=completing.jobs,
            help="The job file, or a folder of jobs.",
            show_default=False,
        ),
    ],
    shelf: Shelf = None,
    with_: With = None,
    full: Full = False,
    as_json: AsJson = False,
    strict: Strict = False,
) -> None:
    def run() -> "Answer":
        from .commands import overview as command
        from .commands.trying import trying

        if file.is_dir():
            from .commands import folder

            return folder.answer(folder.alone(file, shelf, with_ or ()), strict)
        return trying(file, with_ or (), lambda job: command.answer(job, shelf, strict))

    finish(run, as_json, full)


@_command(
    "Write the sheet for the job folder: all answers, drawings and checks by hand.",
    "sheet job.toml -o sheet.pdf",
)
def sheet(
    file: JobPath,
    out: Annotated[
        Path | None,
        option("-o", "--output", metavar="FILE", help="Where to: .html or .pdf.", show_default=False),
    ] = None,
    paper: Annotated[str, option("--paper", metavar="a4|letter", help="Of the .pdf.")] = "a4",
    date: Annotated[
        str | None, option("--date", metavar="DAY", help="To print, as 2024-12-31; else today's.")
    ] = None,
    shelf: Shelf = None,
    before: BeforeOr = None,
    with_: With = None,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import sheet as command
        from .commands.trying import trying
        from .job.loading import load

        was = None if before is None else load(before)
        to = command.named(out)
        return trying(
            file,
            with_ or (),
            lambda job: command.answer(job, to, paper, date, shelf, force, was),
            probe=lambda job: command.seen(job, shelf, was),
        )

    finish(run)


@_command(
    "Say what a change does to every pushrod, clearance and fit, and what causes how much of a pushrod's change.",
    "swap job.toml --from before.toml",
)
def swap(
    after: JobPath,
    before: BeforeOr = None,
    shelf: Shelf = None,
    with_: With = None,
    full: Full = False,
    as_json: AsJson = False,
) -> None:
    def run() -> "Answer":
        from .commands import swap as command
        from .commands.trying import trying
        from .job.loading import load

        was = None if before is None else load(before)
        return trying(
            after, with_ or (), lambda job: command.answer(job, was, shelf), ("pushrods", "clearance")
        )

    finish(run, as_json, full)


@_command("Work out the rest of the stack: squish, compression, skirts, tubes, ports.", "fits job.toml")
def fits(
    file: JobPath,
    before: BeforeOr = None,
    with_: With = None,
    plot: Annotated[
        Path | None,
        option("--plot", metavar="OUT", help="Draw the lowering of a cylinder: .svg, .png or .pdf."),
    ] = None,
    full: Full = False,
    as_json: AsJson = False,
    strict: Strict = False,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import fits as command
        from .commands.trying import trying
        from .job.loading import load

        other = None if before is None else load(before)
        return trying(
            file,
            with_ or (),
            lambda job: command.answer(job, other, strict, plot, force),
            ("fits",),
            None if plot is None else lambda job: command.answer(job, other, strict).document,
        )

    finish(run, as_json, full)


@_command(
    "Say how sure each answer is, how likely a target is missed, and which reading costs most.",
    "risk job.toml",
)
def risk(
    file: JobPath,
    with_: With = None,
    draws: Annotated[int, option("--draws", metavar="N", help="How many builds to draw.")] = 10_000,
    seed: Annotated[int, option("--seed", metavar="N", help="Of the draws; one seed, one answer.")] = 1,
    cores: Annotated[int, option("--cores", metavar="N", help="Processes that draw.")] = 1,
    full: Full = False,
    as_json: AsJson = False,
    strict: Strict = False,
) -> None:
    def run() -> "Answer":
        from .commands import risk as command
        from .commands.trying import FEW_DRAWS, trying

        return trying(
            file,
            with_ or (),
            lambda job: command.answer(job, draws, seed, cores, strict),
            probe=lambda job: command.answer(job, min(draws, FEW_DRAWS), seed, 1, strict).document,
        )

    finish(run, as_json, full)


@_command("Work one pushrod through, step by step, to be checked by hand.", "explain job.toml front.intake")
def explain(
    file: JobPath,
    train: Annotated[
        str,
        argument(
            metavar="TRAIN",
            help='The valve gear, "front.intake".',
            show_default=False,
            autocompletion=completing.gears,
        ),
    ],
    with_: With = None,
    as_json: AsJson = False,
) -> None:
    def run() -> "Answer":
        from .commands import explain as command
        from .commands.trying import trying

        return trying(file, with_ or (), lambda job: command.answer(job, train), ("pushrods",))

    finish(run, as_json)


@_command(
    "Say what cam a table of lift readings is of, how noisy they are and which look wrong.", "lobe intake.csv"
)
def lobe(
    file: options.LobeFile,
    angle: options.Angle = "cam",
    measured_at: options.MeasuredAt = "lifter",
    ratio: options.Ratio = "",
    dialled: options.Dialled = None,
    lash: options.Lash = "",
    lash_at: options.LashAt = "valve",
    units: options.Units = "in",
    check: options.CheckLift = None,
    stop: options.Stop = None,
    centreline: options.Centreline = None,
    port: options.Port = "intake",
    read_with: options.ReadWith = "",
    read_offset: options.ReadOffset = "",
    base_radius: options.BaseRadius = "",
    follower: options.RunsUnder = "",
    follower_offset: options.FollowerOffset = "",
    plot: options.PlotTo = None,
    full: Full = False,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    def run() -> "Answer":
        from .commands import lobe as command
        from .lobe_leads import Asked, Rides

        rides = Rides(read_with, read_offset, base_radius, follower, follower_offset)
        asked = Asked(
            angle,
            measured_at,
            ratio,
            units,
            check or (),
            stop,
            centreline,
            port,
            plot,
            force,
            rides,
            dialled or (),
            lash,
            lash_at,
        )
        return command.answer(file, asked)

    finish(run, as_json, full)


@_command(
    "Write down what was set and measured at assembly or at a visit; show plan, as-built and what moved since.",
    'record job.toml front.intake --preload "1.2 mm"',
)
def record(
    file: JobPath,
    of: options.AsBuiltOf = "",
    pushrod: OfGear = None,
    as_: options.LengthAs = "",
    turns: OfGear = None,
    flats: OfGear = None,
    turned_from: options.TurnedFrom = "zero lash",
    preload: OfGear = None,
    lash: OfGear = None,
    drop: options.Drop = None,
    clay: options.Clay = None,
    valve_lift: OfGear = None,
    valve_to_valve: OfCylinder = None,
    squish: OfCylinder = None,
    deck: OfCylinder = None,
    crank: options.Crank = None,
    figure: options.Figures = None,
    visit: options.Visit = "",
    found: options.WasFound = False,
    left: options.WasLeft = False,
    temperature: options.Temperature = "",
    lift: options.AtLift = "",
    changed: options.Changed = "",
    note: options.Note = "",
    by: options.By = "",
    tool: options.Tool = "",
    when: options.When = "",
    withdraw: options.Withdraw = 0,
    shelf: Shelf = None,
    full: Full = False,
    as_json: AsJson = False,
    strict: Annotated[
        bool, option("--strict", help="Count TIGHT, NOT JUDGED, NOT COMPARED as missed.")
    ] = False,
) -> None:
    def run() -> "Answer":
        from .commands import record as command
        from .job.loading import load

        values = {
            "pushrod": pushrod,
            "turns": turns,
            "flats": flats,
            "preload": preload,
            "lash": lash,
            "drop": drop,
            "clay": clay,
            "valve lift": valve_lift,
            "valve to valve": valve_to_valve,
            "squish": squish,
            "deck": deck,
            "crank": crank,
        }
        told = {what: value for what, value in values.items() if value is not None}
        said = command.Said(of, told, as_, turned_from, by, tool, note, when, withdraw, tuple(figure or ()))
        said = said._replace(
            visit=visit, found=found, left=left, temperature=temperature, lift=lift, changed=changed
        )
        return command.answer(load(file), said, shelf, strict)

    finish(run, as_json, full)


@_command(
    "Open a page in the browser, served from this machine: readings go in where they are taken, answers move at once.",
    "bench job.toml",
)
def bench(
    file: Annotated[
        Path | None,
        argument(
            metavar="[FILE|FOLDER]",
            help="The job file, or a folder of jobs; without it, this folder.",
            show_default=False,
            autocompletion=completing.jobs,
        ),
    ] = None,
    network: Annotated[
        str,
        option(
            "--network",
            metavar="ADDRESS",
            help="For a tablet: at this address of this machine, or ask; a code lets in.",
            show_default=False,
        ),
    ] = "",
    no_browser: Annotated[bool, option("--no-browser", help="Only print the address.")] = False,
    port: Annotated[
        int, option("--port", metavar="N", help="Where it listens.", show_default="any that is free")
    ] = 0,
) -> None:
    def run() -> "Answer":
        from .commands import bench as command

        return command.answer(file, command.Asked(network, not no_browser, port))

    finish(run)


@_command("Print the JSON Schema of the job file, for completion in an editor.", "schema")
def schema() -> None:
    def run() -> "Answer":
        from .commands import schema as command

        return command.answer()

    finish(run, as_json=True)
