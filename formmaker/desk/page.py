"""The page as trame shows it: our own template with the scene put in, and what it knows before anything is asked."""

from importlib import resources

from trame.ui.html import DivLayout
from trame.widgets import vtk
from trame_server.core import Server

from formmaker.desk.front import FILES
from formmaker.desk.saying import Told
from formmaker.desk.scene import Scene
from formmaker.files.profile_file import profile_names

MODULE = {"serve": {FILES: str(resources.files("formmaker") / "desk" / "served")}}
MM_STEPS = ("0.5 mm", "1 mm", "2 mm", "5 mm", "10 mm")
INCH_STEPS = ("1/32 in", "1/16 in", "1/8 in", "1/4 in", "1/2 in")
WAYS = (
    {"name": "right", "theta": 0.0, "deg": 0, "sign": "\N{RIGHTWARDS ARROW}"},
    {"name": "up", "theta": 1.5707963267948966, "deg": 90, "sign": "\N{UPWARDS ARROW}"},
    {"name": "left", "theta": 3.141592653589793, "deg": 180, "sign": "\N{LEFTWARDS ARROW}"},
    {"name": "down", "theta": 4.71238898038469, "deg": 270, "sign": "\N{DOWNWARDS ARROW}"},
)
FORM_FIELDS = (
    {"key": "form.diameter", "words": "Across"},
    {"key": "form.height", "words": "High"},
    {"key": "form.wall", "words": "Wall"},
    {"key": "form.floor", "words": "Floor"},
    {"key": "form.lowest_rim", "words": "Lowest rim accepted"},
    {"key": "allowance.skin", "words": "Left for truing"},
    {"key": "mounting.foot_height", "words": "Foot above its centre"},
)
LOST = """<main class="waiting lost" role="alert"><h1>The desk does not answer</h1>
<p class="doing">It was ended, or the way to it is broken. When it answers again this page comes back by itself.</p>
<p>If it was ended: start <b>formmaker desk</b> again and open the address that it prints. What was not saved then
lies beside the job file, in a file that ends in .unsaved.toml.</p></main>"""
"""In the place of the page when its socket is gone."""

HOLD_FIELDS = ({"key": "hold.diameter", "words": "Across"}, {"key": "hold.depth", "words": "Deep or long"})


def lay_out(server: Server, scene: Scene) -> vtk.VtkLocalView:
    """Put the page together; the view that shows the scene."""
    server.enable_module(MODULE)
    server.state.update(beginning())
    with DivLayout(server) as layout:
        view = vtk.VtkLocalView(scene.window, ref="scene")
    template = (resources.files("formmaker") / "desk" / "page.html").read_text(encoding="utf-8")
    server.state[f"trame__template_{layout.template_name}"] = template.replace("@SCENE@", view.html)
    server.state["trame__template_error"] = LOST
    return view


def beginning() -> Told:
    """Everything that the template names, before there is a job."""
    empty: Told = dict.fromkeys(
        (
            *("answer", "headline", "sentence", "caution", "file_name", "units", "step", "edge", "hold_kind"),
            *("rim_end", "profile_name", "refusal", "news", "doing", "progress", "section_svg", "section_words"),
            *("ring_svg", "ring_words", "rim_svg", "picked_words", "sapwood_words", "ring_words_step", "folder_name"),
            "found_words",
        ),
        "",
    )
    lists: Told = {
        key: []
        for key in (
            *("findings", "rim_words", "bowl_words", "wood_words", "handles", "marks", "move_words", "made"),
            *("progress_done", "shapes", "samples", "answered", "steps", "balance_words", "way_words", "cuts"),
            "choices",
        )
    }
    truths: Told = dict.fromkeys(
        ("can_undo", "can_redo", "is_seeking", "is_saved", "disk_changed", "wall_law", "has_lean", "bark_share"),
        False,
    )
    figures: Told = dict.fromkeys(
        ("worst_theta", "worst_height", "rim_per", "picked_theta", "picked_height", "picked_deg"), 0.0
    )
    boxes: Told = dict.fromkeys(("section_box", "ring_box", "rim_box"), "0 0 1 1")
    return {
        **(empty | lists | truths | figures | boxes),
        "trame__title": "formmaker desk",
        "stage": "loading",
        "title": "formmaker",
        "marking": None,
        "fields": {},
        "exact": {},
        "shown": {},
        "cameras": {},
        "index_count": 24,
        "shape_name": "half log",
        "start_units": "mm",
        "ways": WAYS,
        "form_fields": FORM_FIELDS,
        "hold_fields": HOLD_FIELDS,
        "profiles": list(profile_names()),
    }
