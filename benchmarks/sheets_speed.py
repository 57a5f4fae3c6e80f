"""Time to write all sheets of the three samples in three formats, as a turner asks for them: one command a job.

Run with ``python benchmarks/sheets_speed.py [PAPER]``; the demo is written first, which compiles the kernels, and is
not counted. Wall time is what a turner waits; processor time, all processes of a run together, says how busy the
machine was beside it: on two cores that are free the one is a good half of the other.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 3
COMMAND = [sys.executable, "-m", "formmaker"]


def run(*arguments: str) -> tuple[float, float]:
    """Wall and processor seconds of one command."""
    before, start = os.times(), time.perf_counter()
    subprocess.run([*COMMAND, *arguments], check=True, capture_output=True)
    after = os.times()
    used = after.children_user - before.children_user + after.children_system - before.children_system
    return time.perf_counter() - start, used


def main(paper: str) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        run("demo", "-o", folder)
        totals = [0.0, 0.0]
        print(f"{'job':<24}{'wall, s':>10}{'processor, s':>14}{'files':>8}   best of {RUNS}, {paper}")
        for job in sorted(Path(folder).glob("*.toml")):
            out = Path(folder, "sheets", job.stem)
            best = min(run("sheets", str(job), "-o", str(out), "--paper", paper) for _ in range(RUNS))
            totals = [total + seconds for total, seconds in zip(totals, best, strict=True)]
            print(f"{job.stem:<24}{best[0]:>10.1f}{best[1]:>14.1f}{len(list(out.iterdir())):>8}", flush=True)
        print(f"{'together':<24}{totals[0]:>10.1f}{totals[1]:>14.1f}   asked: under 20 on two cores")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "A4")
