#!/usr/bin/env python3
"""Runs the outside checks against a built warpwise.

    python3 tests/outside/run.py target/release/warpwise [--instances DIR] [--only TEXT] [--at-once N] [--times] [--full]

Everything here measures the program from outside, with readers and geometry libraries that share
no code with it. Needs the packages of requirements.txt, Chromium for browser.py, hp2xx for machines.py,
LibreCAD and qpdf for cad.py, poppler for arrows.py, also qpdf and zbar for paper.py, zsh and groff for shell.py,
strace for faults.py, faketime for determinism.py.
"""

import argparse
import os
import signal
import sys

import harness

# The order of the report.
import readme  # noqa: F401
import schema  # noqa: F401
import shell  # noqa: F401
import supply  # noqa: F401
import patterns  # noqa: F401
import corpus  # noqa: F401
import plan_rules  # noqa: F401
import cutfiles  # noqa: F401
import offsets  # noqa: F401
import fabric  # noqa: F401
import splices  # noqa: F401
import nesting  # noqa: F401
import anytime  # noqa: F401
import stock  # noqa: F401
import shelf  # noqa: F401
import kept  # noqa: F401
import laminate  # noqa: F401
import process  # noqa: F401
import browser  # noqa: F401
import axe  # noqa: F401
import watch  # noqa: F401
import page  # noqa: F401
import page_hand  # noqa: F401
import page_time  # noqa: F401
import edits  # noqa: F401
import script  # noqa: F401
import machines  # noqa: F401
import cad  # noqa: F401
import pictures  # noqa: F401
import photographs  # noqa: F401
import paper  # noqa: F401
import arrows  # noqa: F401
import moulds  # noqa: F401
import seen  # noqa: F401
import run_on  # noqa: F401
import sheets  # noqa: F401
import determinism  # noqa: F401
import faults  # noqa: F401
import rounds  # noqa: F401


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("binary", help="the warpwise program")
    parser.add_argument("--instances", help="folder with public nesting instances")
    parser.add_argument("--only", help="run only checks whose name holds this text")
    parser.add_argument(
        "--at-once", type=int, default=os.cpu_count() or 1, metavar="N", help="checks to run at a time [default: one for each processor]"
    )
    parser.add_argument("--times", action="store_true", help="tell the processor seconds of each check")
    parser.add_argument("--full", action="store_true", help="faults at every call, 500 rounds of runs at once, 100 kills at a shelf: some minutes more")
    arguments = parser.parse_args()
    # A shell lets what it starts in the background ignore Ctrl-C, and so would every program that is checked.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    context = harness.Context(arguments.binary, arguments.instances, arguments.full)
    try:
        return harness.run_all(context, arguments.only, max(arguments.at_once, 1), arguments.times)
    finally:
        context.close()


if __name__ == "__main__":
    sys.exit(main())
