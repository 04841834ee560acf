"""A window in which the tree is turned by hand."""

from __future__ import annotations

import signal
from typing import Any

import numpy as np

from armature.edge import CommissionError
from armature.pictures.cameras import Camera
from armature.pictures.probe import screen
from armature.pictures.raster import placed, plotter, sky_dome, taken_from
from armature.pictures.scene import Scene

_SIZE = (1000, 900)
# The eye may come as near as this share of how far the scene reaches, and go as far as so many times it.
_NEAR, _FAR = 1e-3, 90.0


def need_screen() -> str:
    """Return VTK's window class for this machine's screen, or raise where there is none."""
    window = screen()
    if window is None:
        raise CommissionError("--window", "needs a screen; without it a picture is drawn to a file with --out", "none")
    return window


def show_window(scene: Scene, camera: Camera, title: str) -> None:
    """Show the scene in a window until it is closed: drag turns it, shift and drag moves it, the wheel comes nearer.

    camera: where the eye stands first. Raises CommissionError where there is no screen.
    """
    stage = turnable(scene, camera, need_screen())
    # The window's loop runs no Python: a handler of ours would wait until somebody closes it.
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_DFL)
    stage.enable_terrain_style(mouse_wheel_zooms=True, shift_pans=True)
    stage.show(title=title)


def turnable(scene: Scene, camera: Camera, window: str, off_screen: bool = False) -> Any:
    """Return a plotter of the scene whose light follows the eye wherever its camera goes."""
    stage = plotter(window, _SIZE, off_screen)
    stage.enable_anti_aliasing("ssaa")
    actors = [placed(stage, each, scene) for each in (*scene.parts, sky_dome(scene))]
    reach = float(np.abs(scene.subject).max())
    depths = (_NEAR * reach, _FAR * reach)
    taken_from(stage, actors, camera, depths)

    def follow(_renderer: Any, _event: str) -> None:
        view = stage.camera
        view.clipping_range = depths
        for actor in actors:
            actor.GetShaderProperty().GetFragmentCustomUniforms().SetUniform3f("eyePlace", list(view.position))

    # A new picture starts: the shaders hear where the eye is by then.
    stage.renderer.AddObserver("StartEvent", follow)
    return stage
