"""The command ``python -m lutherie_geom``: joint book, turn card, bench proof, order of work, set-up; see ``commands``."""

from __future__ import annotations

import argparse
import re
import sys

from lutherie_geom.commands import add_jobs, plain_errors, summary

__all__ = ["main", "summary"]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="lutherie_geom", description="Guitar neck joints that can be re-set with a hex key.")
    add_jobs(parser.add_subparsers(dest="job", required=True, metavar="JOB"))
    return parser


def _joined(arguments: list[str]) -> list[str]:
    """``--tilt -1/8`` as ``--tilt=-1/8``: argparse takes a number below zero for another option unless it is plain."""
    out: list[str] = []
    for text in arguments:
        if out and re.fullmatch(r"--[a-z]+", out[-1]) and re.match(r"-[\d.]", text):
            out[-1] += f"={text}"
        else:
            out.append(text)
    return out


def main(arguments: list[str] | None = None) -> int:
    """Do what the command line asks. The exit code: 0 done, 1 the bench proof says do not close the box, or an order of work
    cannot be done, 2 what was given, or the place to write, is no good; then nothing is written."""
    asked = _parser().parse_args(_joined(sys.argv[1:] if arguments is None else arguments))
    try:
        return int(asked.do(asked))
    except plain_errors() as e:
        print(e, file=sys.stderr)
    except OSError as e:
        print(f"cannot write {asked.makes}: {e.filename or asked.source}: {(e.strerror or str(e)).lower()}", file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main())
