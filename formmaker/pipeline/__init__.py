"""One function for every wish of the user: paths in, report and files out. The only place that knows the whole chain.

It decides nothing about wood and prints nothing; libraries that take seconds to load come in where they are used.
"""

from formmaker.pipeline.beginning import NewReport, new
from formmaker.pipeline.checking import CheckReport, Say, Wood, check, check_in, check_job, placed, wood_of
from formmaker.pipeline.cutting import CutOutcome, cut, uncut
from formmaker.pipeline.demonstration import DemoReport, demo
from formmaker.pipeline.drying import DryReport, dry
from formmaker.pipeline.holding import HoldReport, hold
from formmaker.pipeline.mounting import BalanceReport, balance
from formmaker.pipeline.moving import MoveReport, move, to_balance, to_centres, to_job
from formmaker.pipeline.printing import draw, draw_report, sheets
from formmaker.pipeline.proving import ProofReport, prove, solids
from formmaker.pipeline.seeking import SeekReport, seek, seek_in
from formmaker.pipeline.showing import bowl_as_it_comes, picture, picture_report
from formmaker.pipeline.spinning import RingReport, TurnReport, spin_all, spin_ring
from formmaker.pipeline.suiting import SuitReport, suit, suit_in

__all__ = [
    "BalanceReport",
    "CheckReport",
    "CutOutcome",
    "DemoReport",
    "DryReport",
    "HoldReport",
    "MoveReport",
    "NewReport",
    "ProofReport",
    "RingReport",
    "Say",
    "SeekReport",
    "SuitReport",
    "TurnReport",
    "Wood",
    "balance",
    "bowl_as_it_comes",
    "check",
    "check_in",
    "check_job",
    "cut",
    "demo",
    "draw",
    "draw_report",
    "dry",
    "hold",
    "move",
    "new",
    "picture",
    "picture_report",
    "placed",
    "prove",
    "seek",
    "seek_in",
    "sheets",
    "solids",
    "spin_all",
    "spin_ring",
    "suit",
    "suit_in",
    "to_balance",
    "to_centres",
    "to_job",
    "uncut",
    "wood_of",
]
