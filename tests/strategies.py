"""What hypothesis draws: sound records at ordinary sizes, and at sizes near the edge of the ordinary."""

from pathlib import Path

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from formmaker.engine.section import build_section
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import FormError
from formmaker.files.profile_file import find_profile, profile_names, read_profile
from formmaker.model.form import Edge, Form
from formmaker.model.profile import Profile

PROFILES = tuple(read_profile(find_profile(name, Path())) for name in profile_names())


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    """A profile of ours with every handle but the foot's and the rim's height nudged by up to 2 % of the radius."""
    profile = draw(st.sampled_from(PROFILES))
    nudges = draw(
        st.lists(st.floats(-0.02, 0.02), min_size=2 * len(profile.handles), max_size=2 * len(profile.handles))
    )
    handles = profile.handles + np.reshape(nudges, (-1, 2)) * profile.handles[:, 0].max()
    handles[0, 1], handles[-1, 1] = profile.handles[0, 1], profile.handles[-1, 1]
    return Profile(name=profile.name, description="drawn", handles=handles, corners=profile.corners)


@st.composite
def unchecked_forms(draw: st.DrawFn) -> Form:
    """A form of ordinary size, from one of our profiles a little changed; its section may still be refused."""
    diameter = draw(st.floats(120.0, 320.0))
    wall = draw(st.floats(3.0, 10.0))
    laws = st.one_of(st.just(wall), st.floats(0.7, 1.5).map(lambda foot: [[0.0, foot * wall], [1.0, wall]]))
    height = diameter * draw(st.floats(0.25, 0.8))
    return form_from_profile(
        draw(profiles()),
        diameter=diameter,
        height=height,
        wall=draw(laws),
        floor=wall + draw(st.floats(0.0, 8.0)),
        edge=draw(st.sampled_from(Edge)),
        lowest_rim=height * draw(st.floats(0.5, 1.0)),
    )


@st.composite
def forms(draw: st.DrawFn) -> Form:
    """A form whose section can be built."""
    form = draw(unchecked_forms())
    try:
        build_section(form)
    except FormError:
        assume(condition=False)
    return form
