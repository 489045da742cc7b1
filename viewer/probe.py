"""Whether this machine can draw in 3D, found out where a crash does no harm.

Without OpenGL the drawing library does not raise: it kills the process. So a child process tries first.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from functools import lru_cache

WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
OFF_SCREEN = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")
PATIENCE_S = 20.0

CODE = (
    "import vtkmodules.vtkRenderingOpenGL2\n"
    "from vtkmodules.vtkRenderingCore import vtkRenderWindow\n"
    "w = vtkRenderWindow(); w.SetOffScreenRendering(1); w.SetSize(8, 8); w.Render(); print(w.GetClassName())"
)


@lru_cache(maxsize=1)
def backend() -> str | None:
    """The class of window that works here, None where none does; sets the environment so that it is used."""
    desk = os.name == "nt" or sys.platform == "darwin" or bool(os.environ.get("DISPLAY"))
    for window in ([None] if desk else []) + [os.environ.get(WINDOW), *OFF_SCREEN]:
        if (window is None and not desk) or not (found := _try(window)):
            continue
        if window is not None:
            os.environ[WINDOW] = window
        return found
    return None


def why_not() -> str:
    """One line: why there is no picture here, "" where there can be one."""
    if importlib.util.find_spec("pyvista") is None:
        return "no picture: PyVista is not installed; pip install ventroute[view]"
    if backend() is None:
        return "no picture: this machine has no working OpenGL (libegl1 and libgl1-mesa-dri give it one in software)"
    return ""


def no_screen() -> str:
    """One line: why no window can be opened here, "" where one can."""
    desk = os.name == "nt" or sys.platform == "darwin" or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return why_not() or ("" if desk else "no window: there is no screen here; without --window a browser shows it")


def _try(window: str | None) -> str:
    env = dict(os.environ, **({WINDOW: window} if window else {}))
    try:
        done = subprocess.run([sys.executable, "-c", CODE], env=env, capture_output=True, text=True, timeout=PATIENCE_S)
    except (subprocess.TimeoutExpired, OSError):
        return ""
    return done.stdout.split()[-1] if done.returncode == 0 and done.stdout.split() else ""
