"""The command line: reads arguments, calls one function, renders the result. Exit status 0, 1 or 2.

Heavy rooms are imported by the command that needs them, so that `--help` costs nothing.
"""

import argparse
import io
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Final, NoReturn

from proveout import __version__, cli_book
from proveout.finding import InputError, InputErrors, Place

READY: Final = 0
NOT_READY: Final = 1
UNUSABLE: Final = 2

STOPPED: Final = "Stopped by hand. Nothing was written."

Command = Callable[[argparse.Namespace], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status: 0 ready, 1 not ready, 2 the input can't be used."""
    args = _parser().parse_args(arguments)
    command: Command = args.command
    try:
        return command(args)
    except InputErrors as several:
        return _refuse(several.errors, as_json=args.json)
    except InputError as error:
        return _refuse((error,), as_json=args.json)
    except KeyboardInterrupt:
        return _refuse((InputError(STOPPED),), as_json=args.json)
    except BrokenPipeError:
        # Whoever read our output has gone; point it at nothing so that the interpreter's last flush is quiet.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return UNUSABLE


def program() -> None:
    """The installed command: main, with an interrupt that ends it at once and cleanly at any moment.

    Unwinding through compiled code that is being loaded can crash the process, and until the pack is written
    there is nothing to tidy: so an interrupt leaves on the spot. Only `_tidy_interrupts` lets it unwind.
    """
    signal.signal(signal.SIGINT, _leave)
    for stream in (sys.stdout, sys.stderr):
        # A name that the terminal has no letters for must not spoil the verdict.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        status = main()
        sys.stdout.flush()
    except OSError as error:
        os.write(2, f"error: The result can't be printed: {error.strerror or error}.\n".encode())
        os._exit(UNUSABLE)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(status)


def _leave(number: int, frame: FrameType | None) -> NoReturn:
    os.write(2, f"\nerror: {STOPPED}\n".encode())
    os._exit(UNUSABLE)


@contextmanager
def _tidy_interrupts() -> Iterator[None]:
    """While files are written an interrupt is an exception, so that what was begun is taken away again."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _refuse(errors: Sequence[InputError], *, as_json: bool) -> int:
    from proveout.job.locate import located

    errors = located(errors)
    if as_json:
        print(json.dumps({"errors": [_error_record(error) for error in errors]}, indent=2))
    else:
        for error in errors:
            print(f"error: {error}", file=sys.stderr)
    return UNUSABLE


def _error_record(error: InputError) -> dict[str, object]:
    place = error.place
    return {
        "file": str(place.file) if place else None,
        "line": place.line if place else None,
        "column": place.column if place else None,
        "field": place.field if place else None,
        "text": error.text,
    }


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="proveout",
        description="From what is on the bench to router programs that were proved before the spindle turns.",
        epilog="Exit status: 0 ready, 1 not ready, 2 the input can't be used.",
    )
    parser.add_argument("--version", action="version", version=f"proveout {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    new = _command(commands, "new", _new, "write a commented starter job and shop file")
    new.add_argument(
        "dir", metavar="DIR", type=Path, nargs="?", default=Path(), help="folder to write them to"
    )

    make = _command(commands, "make", _make, "plan, write, prove and pack a job")
    make.add_argument("job", metavar="JOB", type=Path, help="job file (TOML)")
    make.add_argument(
        "--out", metavar="DIR", type=Path, help="the pack's folder (default: NAME-pack beside the job)"
    )
    make.add_argument("--replace", action="store_true", help="replace a pack that is there already")

    prove = _command(commands, "prove", _prove, "prove programs, whoever wrote them, on a bench")
    prove.add_argument(
        "programs", metavar="PROGRAM", type=Path, nargs="+", help="RS-274 text, in order of running"
    )
    prove.add_argument(
        "--setup",
        metavar="SETUP",
        type=Path,
        required=True,
        help="the job file they are for, or a setup file for programs from elsewhere",
    )
    prove.add_argument(
        "--cutter",
        metavar="NUMBER",
        type=int,
        help="the cutter in the spindle, for programs that don't say and aren't the job's own",
    )

    prove.add_argument(
        "--loads", metavar="FILE.svg", type=Path, help="draw how hard the programs cut, along their time"
    )
    prove.add_argument(
        "--replace", action="store_true", help="replace a picture of loads that is there already"
    )

    looking = _command(commands, "look", _look, "say what a drawing holds: its size, curves, and hardware")
    looking.add_argument("drawing", metavar="DRAWING", type=Path, help="DXF or SVG drawing")
    looking.add_argument(
        "--known", metavar="DIMENSION", help='one that settles its unit: "width = 120 mm", "hole = 6.6 mm"'
    )
    looking.add_argument("--units", choices=("mm", "in"), help="the drawing's unit, where you know it")
    looking.add_argument(
        "--layer",
        metavar="LAYER",
        action="append",
        dest="layers",
        help="a layer that counts, once for each; without it all do",
    )
    looking.add_argument(
        "--shop", metavar="SHOP", type=Path, help="shop file, to say which cutters can cut it"
    )
    looking.add_argument("--svg", metavar="FILE.svg", type=Path, help="draw it with its curves numbered")
    looking.add_argument(
        "--job", metavar="JOB", type=Path, help="write a job file around it, for the shop that --shop names"
    )

    hold = _command(
        commands, "hold", _hold, "say where to clamp a blank, with which bolts, and what it stands"
    )
    hold.add_argument("job", metavar="JOB", type=Path, help="job or setup file (TOML); it needs no parts")
    hold.add_argument(
        "--svg", metavar="FILE.svg", type=Path, help="draw where the blank stands how hard a push"
    )
    hold.add_argument("--replace", action="store_true", help="replace a picture of margins that is there")

    quicker = _command(
        commands, "faster", _faster, "say what limits a job's cuts, and try what would loosen that"
    )
    quicker.add_argument("job", metavar="JOB", type=Path, help="job file (TOML)")

    coupon = _command(
        commands,
        "coupon",
        _coupon,
        "write a job file of fit coupons for the hardware that a job's parts take",
    )
    coupon.add_argument("job", metavar="JOB", type=Path, help="job file (TOML)")
    coupon.add_argument("--part", metavar="NAME", help="try one part's fits alone")
    coupon.add_argument(
        "--out",
        metavar="FILE.toml",
        type=Path,
        help="the file to write (default: NAME-coupon.toml beside JOB)",
    )
    coupon.add_argument("--steps", metavar="N", help="how many sizes on each, from 2 to 15 (default: 5)")
    coupon.add_argument(
        "--step", metavar="LENGTH", help='from each size to the next (default: "0.05 mm", or "0.002 in")'
    )
    coupon.add_argument("--replace", action="store_true", help="replace a file of coupons that is there")

    why = _command(commands, "why", _why, "the reason for a number, or the list of numbers")
    why.add_argument("job", metavar="JOB", type=Path, help="job file (TOML)")
    why.add_argument("figure", metavar="FIGURE", nargs="?", help="a number's name, or the end of it")

    card = _command(
        commands,
        "card",
        _card,
        "the job card: a local page to run a job from, from the sheet to the readings",
    )
    card.add_argument(
        "job", metavar="JOB", type=Path, nargs="?", help="job file (TOML); without one, new and recent jobs"
    )
    card.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    card.add_argument(
        "--port", metavar="N", type=int, help="the port to serve it at (default: one that is free)"
    )
    card.add_argument(
        "--host", metavar="ADDRESS", default="127.0.0.1", help="serve other machines too, at this address"
    )

    cli_book.add_commands(lambda name, run, text: _command(commands, name, run, text))
    return parser


def _command(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]", name: str, run: Command, text: str
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.set_defaults(command=run)
    parser.add_argument("--json", action="store_true", help="print the result as JSON")
    return parser


def _new(args: argparse.Namespace) -> int:
    from proveout.job.starter import write_starter

    with _tidy_interrupts():
        written = write_starter(args.dir)
    if args.json:
        print(json.dumps({"written": [str(path) for path in written]}, indent=2))
    else:
        for path in written:
            print(f"wrote {path}")
        print(f"Edit both, then run: proveout make {written[-1]}")
    return READY


def _make(args: argparse.Namespace) -> int:
    from proveout.job.read import read_job
    from proveout.pack.folder import default_folder
    from proveout.pack.pack import pack_files, refuse_existing, write_pack
    from proveout.plan import make
    from proveout.progress import Progress
    from proveout.report_text import made_json, made_text

    with Progress() as progress:
        progress.say("reading the job")
        job = read_job(args.job)
        folder = args.out or default_folder(job)
        refuse_existing(folder, replace=args.replace)
        made = make(job, say=progress.say)
        progress.say("packing")
        files = pack_files(made)
        with _tidy_interrupts():
            write_pack(files, folder, replace=args.replace)
    print(made_json(made, folder) if args.json else made_text(made, folder))
    return READY if made.ready else NOT_READY


def _prove(args: argparse.Namespace) -> int:
    from proveout.job.read_setup import read_setup
    from proveout.pack.load_plot import load_plot
    from proveout.pack.load_words import why_no_loads
    from proveout.pack.picture_file import LOADS, refuse_existing, write_picture
    from proveout.plan import prove_texts
    from proveout.progress import Progress
    from proveout.report_text import verdict_json, verdict_text

    if args.loads:
        refuse_existing(args.loads, LOADS, replace=args.replace)
    with Progress() as progress:
        progress.say("reading the job")
        job = read_setup(args.setup)
        verdict = prove_texts(job, _program_texts(args.programs), cutter=args.cutter, say=progress.say)
        picture = load_plot(job, verdict) if args.loads else None
        if picture is not None:
            with _tidy_interrupts():
                write_picture(picture, args.loads, LOADS, replace=args.replace)
    if args.loads and picture is None:
        print(f"{args.loads} was not written. {why_no_loads(job, verdict)}", file=sys.stderr)
    print(verdict_json(job, verdict) if args.json else verdict_text(job, verdict))
    return READY if verdict.ready else NOT_READY


def _program_texts(paths: Sequence[Path]) -> list[tuple[str, str]]:
    from proveout.program.load import load_text

    texts = [(path.name, load_text(path)) for path in paths]
    names = [name for name, _ in texts]
    for path, name in zip(paths, names, strict=True):
        if names.count(name) > 1:
            raise InputError(
                f'Two programs are called "{name}": findings could not tell them apart. Rename one.',
                Place(file=path),
            )
    return texts


def _look(args: argparse.Namespace) -> int:
    from proveout.drawing.look import look, look_picture, look_record, look_text
    from proveout.job.read import read_shop

    if args.job and not args.shop:
        raise InputError(
            "a job file needs a shop. Add --shop SHOP; proveout new writes one to start from.",
            Place(file=args.job),
        )
    shop = read_shop(args.shop) if args.shop else None
    try:
        found = look(args.drawing, known=args.known, units=args.units, layers=args.layers)
    except InputError as error:
        raise error.at(Place(file=args.drawing)) from None
    if args.svg:
        _write_new(args.svg, look_picture(found), "picture")
    if args.job and shop:
        from proveout.drawing.job_around import job_around

        text = job_around(found, shop, job=args.job, known=args.known, units=args.units, layers=args.layers)
        _write_new(args.job, text, "job file")
    cutters = shop.cutters if shop else ()
    if args.json:
        print(json.dumps(look_record(found), indent=2))
    else:
        print(look_text(found, "in" if args.units == "in" else "mm", cutters))
    return READY


def _write_new(path: Path, text: str, what: str) -> None:
    """A file that isn't there yet."""
    try:
        with _tidy_interrupts(), path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(
            f"the {what} can't be written: {why}. Name another file.", Place(file=path)
        ) from None


def _hold(args: argparse.Namespace) -> int:
    from proveout.hold_text import hold_json, hold_text
    from proveout.holding_parts import hold_job
    from proveout.job.read_setup import read_setup
    from proveout.pack.margin_picture import held_picture
    from proveout.pack.picture_file import MARGINS, refuse_existing, write_picture

    if args.svg:
        refuse_existing(args.svg, MARGINS, replace=args.replace)
    found = hold_job(read_setup(args.job))
    if args.svg:
        picture = held_picture(found)
        if picture is None:
            print(f"{args.svg} was not written: nothing holds the blank.", file=sys.stderr)
        else:
            with _tidy_interrupts():
                write_picture(picture, args.svg, MARGINS, replace=args.replace)
    print(hold_json(found) if args.json else hold_text(found))
    return READY if found.best is not None and found.best.enough else NOT_READY


def _coupon(args: argparse.Namespace) -> int:
    from proveout.coupon_report import coupon_json, coupon_report
    from proveout.coupons import asked_for, default_file, write_coupons
    from proveout.job.read import read_job

    job = read_job(args.job)
    asked = asked_for(job, part=args.part, steps=args.steps, step=args.step)
    out = args.out or default_file(job)
    with _tidy_interrupts():
        trials = write_coupons(job, out, asked, overwrite=args.replace)
    print(coupon_json(trials, out) if args.json else coupon_report(trials, out, job.units))
    return READY


def _faster(args: argparse.Namespace) -> int:
    from proveout.faster import faster
    from proveout.faster_text import faster_json, faster_text
    from proveout.job.read import read_job
    from proveout.progress import Progress

    with Progress() as progress:
        job = read_job(args.job)
        found = faster(job, say=progress.say)
    print(faster_json(found) if args.json else faster_text(found))
    return READY if found.now.ready else NOT_READY


def _card(args: argparse.Namespace) -> int:
    from proveout.card.serve import serve

    with _tidy_interrupts(), suppress(KeyboardInterrupt):  # that is how it is ended
        serve(args.job, host=args.host, port=args.port, browse=not args.no_browser)
    return READY


def _why(args: argparse.Namespace) -> int:
    from proveout.job.read import read_job
    from proveout.reckon import reckon
    from proveout.why_text import figures_json, figures_text, named

    job = read_job(args.job)
    figures = reckon(job).figures
    if args.figure is None or not named(figures, args.figure):
        # What needs a layout or the proof costs the compiler; only those who ask pay.
        from proveout.plan import make

        figures = make(job).figures
    print(figures_json(figures, args.figure) if args.json else figures_text(figures, args.figure, job.units))
    return READY


if __name__ == "__main__":
    program()
