"""The commands about the shop book: their arguments, and what each calls."""

import argparse
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from proveout.book.said import FINEST
from proveout.finding import InputError, Place

if TYPE_CHECKING:
    from proveout.book.cut import Taken
    from proveout.book.filled import Given
    from proveout.record.bench import Bench, Recorded

ENDED: Final = "The answers ended before the yes. Nothing was written."

AddCommand = Callable[[str, Callable[[argparse.Namespace], int], str], argparse.ArgumentParser]


def add_commands(add: AddCommand) -> None:
    """Their arguments, added to the command line's."""
    recording = add("record", _record, "record what was measured once a job is cut")
    recording.add_argument("pack", metavar="PACK", type=Path, help="job file, or a pack's folder")
    recording.add_argument("--book", metavar="FILE", type=Path, help="the book, instead of the shop file's")
    recording.add_argument("--pack", metavar="DIR", dest="folder", type=Path, help="where the job's pack is")
    _ways(recording.add_argument_group("what to record; without any of these, one is asked"))
    _readings(recording.add_argument_group("about the readings"))

    listing = add("book", _book, "list what is in the shop book")
    listing.add_argument("job", metavar="JOB_OR_SHOP", type=Path, help="job file, shop file, or the book")
    listing.add_argument("--csv", metavar="FILE", type=Path, help="write every entry to a new file")


def _ways(group: "argparse._ArgumentGroup") -> None:
    one = group.add_mutually_exclusive_group()
    one.add_argument("--form", metavar="FILE.csv", type=Path, help="write a form to fill in")
    one.add_argument("--csv", metavar="FILE.csv", type=Path, help="read a filled-in form")
    one.add_argument("--stock", metavar="SIZES", help='thickness readings: "11.82 11.76 11.90"')
    one.add_argument("--cutter", metavar="NUMBER", type=int, help="a cutter's diameter, with --found")
    one.add_argument("--hardware", metavar="NAME", help='"M6 hex head bolt", its size with --found')
    one.add_argument("--correct", metavar="ID", type=int, help="mend an entry, with --found or --fitted")
    one.add_argument("--withdraw", metavar="ID", type=int, help="take an entry back")
    group.add_argument("--found", metavar="SIZE", help='what was read: "2.97 mm"')
    group.add_argument("--fitted", metavar="WORD", help="how it went in, in a correction")
    group.add_argument("--lot", metavar="NAME", help="of the stock, where you name your lots")


def _readings(group: "argparse._ArgumentGroup") -> None:
    group.add_argument("--by", metavar="NAME", help="who measured")
    group.add_argument("--on", metavar="DATE", help="the day, 2026-03-31 (default: today)")
    group.add_argument("--instrument", metavar="NAME", default="caliper", help="(default: caliper)")
    group.add_argument(
        "--resolution", metavar="SIZE", help=f"its smallest step (default: {' or '.join(FINEST.values())})"
    )
    group.add_argument("--piece", metavar="NUMBER", type=int, default=1, help="which copy (default: 1)")
    group.add_argument("--sitting", metavar="NAME", help="what was cut in one go (default: job and day)")
    group.add_argument("--note", metavar="TEXT", default="", help="kept with the readings")
    group.add_argument("--sure", action="store_true", help="record what looks like a slip")


def _record(args: argparse.Namespace) -> int:
    from proveout.record.bench import bench_of
    from proveout.record.text import recorded_json, recorded_text

    bench = bench_of(args.pack, book=args.book, pack=args.folder)
    if args.form:
        return _write_form(args, bench)
    recorded = _recorded(args, bench)
    print(recorded_json(recorded) if args.json else recorded_text(recorded, args.pack))
    return 0


def _recorded(args: argparse.Namespace, bench: "Bench") -> "Recorded":
    from proveout.record.correct import correct, withdraw
    from proveout.record.readings import record_by_form, record_by_prompt
    from proveout.record.single import record_cutter, record_hardware, record_stock

    today = date.today()
    how = {"today": today, "sure": args.sure}
    given = _given(args, bench)
    if args.csv:
        return record_by_form(bench, given, args.csv, today=today)
    if args.stock is not None:
        return record_stock(bench, _taken(given, today), args.stock, args.lot or "", **how)
    if args.cutter is not None:
        return record_cutter(bench, _taken(given, today), args.cutter, _found(args, "--cutter"), **how)
    if args.hardware is not None:
        return record_hardware(bench, _taken(given, today), args.hardware, _found(args, "--hardware"), **how)
    if args.correct is not None:
        return correct(
            bench, args.correct, found=args.found or "", fitted=args.fitted or "", note=given.note, **how
        )
    if args.withdraw is not None:
        return withdraw(bench, args.withdraw, note=given.note)
    return record_by_prompt(
        bench, given, _Terminal(to_errors=args.json), today=today, piece=max(1, args.piece)
    )


def _found(args: argparse.Namespace, option: str) -> str:
    if not args.found:
        raise InputError(f'{option} needs the reading: --found "2.97 mm".')
    return str(args.found)


def _given(args: argparse.Namespace, bench: "Bench") -> "Given":
    from proveout.book import typed
    from proveout.book.filled import Given
    from proveout.record.single import length_of, read_as

    return Given(
        who=read_as(typed.words, args.by) if args.by else None,
        on=read_as(typed.day, args.on) if args.on else None,
        instrument=read_as(typed.words, args.instrument),
        resolution=length_of(args.resolution or FINEST[bench.units], bench.units).value,
        note=read_as(lambda text: typed.words(text, most=typed.MOST_NOTE), args.note),
        sitting=read_as(typed.words, args.sitting) if args.sitting else "",
    )


def _taken(given: "Given", today: date) -> "Taken":
    from proveout.book.cut import Taken

    if not given.who:
        raise InputError("Say who measured: --by NAME.")
    return Taken(
        who=given.who,
        on=given.on or today,
        instrument=given.instrument,
        resolution=given.resolution or 0.01,
        note=given.note,
        sitting=given.sitting,
    )


class _Terminal:
    """The person at the terminal; with JSON wanted on standard output, questions go beside it."""

    def __init__(self, *, to_errors: bool) -> None:
        self._stream = sys.stderr if to_errors else sys.stdout

    def ask(self, question: str) -> str:
        print(question, end="", file=self._stream, flush=True)
        line = sys.stdin.readline()
        if not line:
            print(file=self._stream)
            raise InputError(ENDED)
        return line.rstrip("\n")

    def say(self, text: str) -> None:
        print(text, file=self._stream)


def _write_form(args: argparse.Namespace, bench: "Bench") -> int:
    import json

    from proveout.book.form import form_text
    from proveout.record.bench import cut_of

    _write_new(args.form, form_text(cut_of(bench)))
    if args.json:
        print(json.dumps({"form": str(args.form)}, indent=2))
    else:
        print(f"wrote {args.form}: fill in found (and fitted, where hardware goes in), date and who, then:")
        elsewhere = f" --pack {args.folder}" if args.folder else ""
        book = f" --book {args.book}" if args.book else ""
        print(f"proveout record {args.pack}{elsewhere}{book} --csv {args.form}")
    return 0


def _write_new(path: Path, text: str) -> None:
    """A file that isn't there yet; a mark at its front tells spreadsheets that it is UTF-8."""
    try:
        with path.open("x", encoding="utf-8-sig", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise InputError(
            "this file is there already, and is not written over. Name another.", Place(file=path)
        ) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"the file can't be written: {why}. Name another.", Place(file=path)) from None


def _book(args: argparse.Namespace) -> int:
    from proveout.record.listing import listed, listed_csv
    from proveout.record.text import listed_json, listed_text

    found = listed(args.job)
    if args.csv:
        _write_new(args.csv, listed_csv(found))
    print(listed_json(found) if args.json else listed_text(found))
    return 0
