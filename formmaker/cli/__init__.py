"""The command line: paths and options in, lines or JSON out, an exit code.

It alone prints and exits: 0 fits, 1 tight or misses, 2 bad input, 130 stopped by Ctrl-C. Answers go to the standard
output, progress and refusals to the standard error. The work is done in ``pipeline``, which is imported only when
the job file has been found sound: help and refusals come at once, at the price of reading the file twice.
"""

from formmaker.cli.commands import main

__all__ = ["main"]
