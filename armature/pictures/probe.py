"""Which way this machine can draw: a graphics library that works, or none.

Where it finds no OpenGL a graphics library may kill the process, so every way is tried in a child process first; the
answer is kept in the user's cache until the machine's libraries change.
"""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

RAYS = "rays"
# Off-screen libraries first: they need no window system and open nothing on the user's screen.
_LINUX = {"egl": "vtkEGLRenderWindow", "osmesa": "vtkOSOpenGLRenderWindow", "x": "vtkXOpenGLRenderWindow"}
_OTHER = {"cocoa": "vtkCocoaRenderWindow", "win32": "vtkWin32OpenGLRenderWindow"}
_SHARED = ("libEGL.so.1", "libEGL.so", "libOSMesa.so.8", "libOSMesa.so.6", "libOSMesa.so", "libGL.so.1")
_TRIAL = """
import sys
import pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=[8, 8], lighting="none")
plotter.set_background("red")
seen = plotter.screenshot(return_img=True)
# Where its class cannot be had VTK makes a window of another one and only warns.
same = type(plotter.render_window).__name__ == sys.argv[1]
sys.exit(0 if same and seen[4, 4].tolist() == [255, 0, 0] else 3)
"""


@cache
def way() -> str:
    """Return the way to draw: "egl", "osmesa", "x", "cocoa", "win32", or "rays" where no graphics library works.

    The environment variable ARMATURE_GRAPHICS names a way and is believed without trying.
    """
    asked = os.environ.get("ARMATURE_GRAPHICS", "")
    if asked in (RAYS, *_LINUX, *_OTHER):
        return asked
    known = _remembered()
    if known is None:
        known = next((name for name in _candidates() if _works(name)), RAYS)
        _remember(known)
    return known


@cache
def screen() -> str | None:
    """Return VTK's window class for a screen that somebody can look at, or None where there is none."""
    name = {"darwin": "cocoa", "win32": "win32"}.get(sys.platform, "x")
    if name == "x" and not os.environ.get("DISPLAY"):
        return None
    return window_class(name) if _works(name) else None


def window_class(name: str) -> str:
    """Return the name of VTK's window class for a way to draw."""
    return {**_LINUX, **_OTHER}[name]


def _candidates() -> list[str]:
    if sys.platform == "darwin":
        return ["cocoa"]
    if sys.platform == "win32":
        return ["win32"]
    return [name for name in _LINUX if name != "x" or os.environ.get("DISPLAY")]


def _works(name: str) -> bool:
    """Return whether a child process could draw by this way; it may die without harm."""
    try:
        done = subprocess.run(
            [sys.executable, "-c", _TRIAL, window_class(name)],
            env={**os.environ, "VTK_DEFAULT_OPENGL_WINDOW": window_class(name)},
            capture_output=True,
            timeout=60.0,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


def _remembered() -> str | None:
    try:
        kept = json.loads(_file().read_text(encoding="utf-8"))
        return str(kept["way"]) if kept["machine"] == _machine() else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _remember(name: str) -> None:
    try:
        _file().parent.mkdir(parents=True, exist_ok=True)
        aside = _file().with_suffix(f".{os.getpid()}")
        aside.write_text(json.dumps({"way": name, "machine": _machine()}), encoding="utf-8")
        aside.replace(_file())
    except OSError:
        # A cache that cannot be written costs a second at the next start and nothing else.
        return


def _file() -> Path:
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(home) / "armature" / "graphics.json"


def _machine() -> list[str]:
    """Return what the answer depends on: VTK, the libraries that load, their vendors, the screen."""
    try:
        vtk = version("vtk")
    except PackageNotFoundError:
        vtk = "none"
    vendors = Path("/usr/share/glvnd/egl_vendor.d")
    drivers = sorted(each.name for each in vendors.glob("*.json")) if vendors.is_dir() else []
    named = [os.environ.get(key, "") for key in ("DISPLAY", "LD_LIBRARY_PATH", "__EGL_VENDOR_LIBRARY_FILENAMES")]
    return [vtk, sys.platform, *(name for name in _SHARED if _loads(name)), *drivers, *named]


def _loads(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True
