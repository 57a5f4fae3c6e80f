"""The renderer as a process: started early, told its scene when there is one, its death made a sentence.

It may be started before the scene is made, because loading its libraries takes a second.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

from formmaker.errors import KernelError

PATIENCE = 300.0
"""Seconds after which a renderer that does not answer is given up."""

Renderer: TypeAlias = subprocess.Popen[bytes]


@contextmanager
def ready_renderer() -> Iterator[Renderer]:
    """Start a renderer; it is ended with the block, whether it was told anything or not.

    Raises
    ------
    KernelError
        If no process can be started.
    """
    # without DISPLAY the renderer goes to EGL at once, rather than asking a screen that may not answer
    surroundings = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    pipe = subprocess.PIPE
    command = [sys.executable, "-m", "formmaker.pictures.render"]
    try:
        process = subprocess.Popen(command, env=surroundings, stdin=pipe, stdout=pipe, stderr=pipe)
    except OSError as error:
        raise KernelError(f"the renderer cannot be started ({error}); free some memory and ask again") from error
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def render(renderer: Renderer, scene: Path, made: list[Path]) -> None:
    """Have a renderer, once in its life, make pictures of a scene; its warnings about screens stay off the user's.

    Parameters
    ----------
    renderer : Renderer
    scene : Path
        Arrays, as ``scene`` writes them.
    made : list of Path
        Where the pictures go.

    Raises
    ------
    KernelError
        If this machine cannot render.
    """
    order = json.dumps([str(scene), *map(str, made)]).encode()
    try:
        _, warnings = renderer.communicate(order, timeout=PATIENCE)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise KernelError(f"the renderer did not answer ({error}); ask for a smaller picture") from error
    if renderer.returncode != 0 or not all(path.is_file() for path in made):
        raise KernelError(
            f"no picture could be rendered ({_last_words(renderer.returncode, warnings)}); install the system's "
            "OpenGL or EGL library, on Debian: libegl1 and libgl1"
        )


def _last_words(code: int, warnings: bytes) -> str:
    if code < 0:
        return f"the renderer was ended by signal {-code}"
    lines = [line for line in warnings.decode(errors="replace").splitlines() if line.strip()]
    return lines[-1].strip()[:160] if lines else f"the renderer stopped with code {code}"
