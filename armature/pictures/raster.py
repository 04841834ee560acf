"""Pictures drawn by PyVista: the scene's own shading run on whatever OpenGL the machine has."""

from __future__ import annotations

import os
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.pictures.cameras import Camera
from armature.pictures.parts import Finish, Part, part
from armature.pictures.scene import Scene
from armature.pictures.shade import glsl

_VERTEX_NAMES = """
in vec3 armColour;
in vec3 armLight;
out vec3 worldPlace;
out vec3 worldNormal;
out vec3 tone;
out vec3 reached;
"""
_VERTEX = "worldPlace = vertexMC.xyz; worldNormal = normalMC; tone = armColour; reached = armLight;\n"
_FRAGMENT_NAMES = "in vec3 worldPlace;\nin vec3 worldNormal;\nin vec3 tone;\nin vec3 reached;\n"
_SURFACE = """
  vec3 toEye = normalize(eyePlace - worldPlace);
  vec3 seen = shaded(tone, normalize(worldNormal), toEye, reached, finish.x, finish.y, finish.z);
"""
_PAVED = "  vec3 stone = tone * paved(worldPlace.xy, abs(dFdx(worldPlace.xy)) + abs(dFdy(worldPlace.xy)));\n"
_MELTED = "  seen = mix(seen, backdrop(0.0), smoothstep(fade.x, fade.y, length(worldPlace.xy)));\n"
_SKY = "  vec3 seen = backdrop(normalize(worldPlace - eyePlace).z);\n"
# Half a step of a byte, up or down by a pattern whose mean is nothing (interleaved gradient noise, Jimenez 2014, from
# memory): without it a clear sky shows its steps as bands.
_SHOWN = """
  float grain = fract(52.9829189 * fract(dot(gl_FragCoord.xy, vec2(0.06711056, 0.00583715)))) - 0.5;
  gl_FragData[0] = vec4(shown(seen) + grain / 255.0, 1.0);
"""
# What stands nearer to the eye than this, mm, is clipped away: nothing is photographed from inside a bar.
_NEAREST = 20.0


class GraphicsStage:
    """A scene set up once, to be drawn from any number of cameras."""

    def __init__(self, scene: Scene, size: tuple[int, int], window: str, fineness: int = 1) -> None:
        self.scene, self.size = scene, size
        self.fineness = fineness
        self.plotter = plotter(window, (size[0] * fineness, size[1] * fineness))
        if fineness == 1:
            # Four places a pixel, each shaded once a surface: as smooth as four times the pixels, at a third of the
            # work.
            self.plotter.enable_anti_aliasing("msaa", multi_samples=4)
        self.actors = [placed(self.plotter, each, scene) for each in (*scene.parts, sky_dome(scene))]
        self.farthest = 90.0 * float(np.abs(scene.subject).max())

    def draw(self, camera: Camera, clear: bool = False) -> NDArray[np.uint8]:
        """Return the picture (H, W, 3), or (H, W, 4) with a see-through background."""
        self.actors[-1].visibility = not clear
        taken_from(self.plotter, self.actors, camera, (self._nearest(camera), self.farthest))
        self.plotter.render()
        seen = np.asarray(self.plotter.screenshot(transparent_background=True, return_img=True), dtype=np.uint8)
        return averaged(seen if clear else seen[..., :3], self.size)

    def resize(self, size: tuple[int, int]) -> None:
        """Draw pictures of this size from now on."""
        self.size = size
        # PyVista's own way draws the whole scene once more.
        self.plotter.render_window.SetSize(size[0] * self.fineness, size[1] * self.fineness)

    def close(self) -> None:
        """Give the window back."""
        self.plotter.close()

    def _nearest(self, camera: Camera) -> float:
        away = (camera.eye - self.scene.subject) @ camera.axes[2]
        return max(float(away.min()) * 0.5, _NEAREST)


def plotter(window: str, size: tuple[int, int], off_screen: bool = True) -> Any:
    """Return an empty plotter on a window of VTK's class `window`, size in px."""
    # VTK makes windows of this class wherever one is asked for; it is read when the window is made.
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = window
    import pyvista

    empty: Any = pyvista.Plotter(off_screen=off_screen, window_size=list(size), lighting="none", border=False)
    # The scene shades itself, but without any light VTK would not hand on normals.
    empty.add_light(pyvista.Light(light_type="headlight"))
    empty.render_window.SetAlphaBitPlanes(1)
    return empty


def placed(stage: Any, each: Part, scene: Scene) -> Any:
    """Return the actor of a part that was added to the plotter, shaded as the scene's sky shades it."""
    from vtkmodules.vtkRenderingCore import vtkPolyDataMapper

    mesh = _mesh(each)
    actor = stage.add_mesh(mesh, show_scalar_bar=False, reset_camera=False, render=False)
    # None of PyVista's own mappers hands the arrays of a mesh on to a shader; VTK's plain one does.
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(mesh)
    # Moved or scaled coordinates would reach the shader as if they were the scene's.
    mapper.SetVBOShiftScaleMethod(0)
    mapper.ScalarVisibilityOff()
    for name in ("armColour", "armLight"):
        mapper.MapDataArrayToVertexAttribute(name, name, 0, -1)
    actor.SetMapper(mapper)
    actor.prop.interpolation = "Gouraud"
    actor.ForceOpaqueOn()
    actor.add_shader_replacement("vertex", "//VTK::Normal::Dec", "//VTK::Normal::Dec\n" + _VERTEX_NAMES)
    actor.add_shader_replacement("vertex", "//VTK::Normal::Impl", "//VTK::Normal::Impl\n" + _VERTEX)
    names = "//VTK::Normal::Dec\n" + _FRAGMENT_NAMES + glsl()
    actor.add_shader_replacement("fragment", "//VTK::Normal::Dec", names)
    actor.add_shader_replacement("fragment", "//VTK::Light::Impl", _fragment(each.name, scene.paved))
    _set_values(actor.GetShaderProperty().GetFragmentCustomUniforms(), each, scene)
    return actor


def taken_from(stage: Any, actors: list[Any], camera: Camera, depths: tuple[float, float]) -> None:
    """Set the plotter's camera and tell the shaders where the eye is; depths: nearest and farthest drawn, mm."""
    view = stage.camera
    view.position, view.focal_point, view.up = camera.eye, camera.target, camera.up
    view.view_angle, view.clipping_range = camera.field, depths
    stage.renderer.camera_set = True
    for actor in actors:
        actor.GetShaderProperty().GetFragmentCustomUniforms().SetUniform3f("eyePlace", camera.eye.tolist())


def averaged(seen: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return a picture drawn larger as the mean of its pixels: this smooths every edge, also those in a surface."""
    times = seen.shape[0] // size[1]
    if times == 1:
        return np.ascontiguousarray(seen)
    total = np.zeros((size[1], size[0], seen.shape[2]), dtype=np.uint16)
    for row in range(times):
        for column in range(times):
            total += seen[row::times, column::times]
    return np.asarray((total + times * times // 2) // (times * times), dtype=np.uint8)


def _fragment(name: str, paved: bool = False) -> str:
    if name == "sky":
        return _SKY + _SHOWN
    if name != "ground":
        return _SURFACE + _SHOWN
    surface = _PAVED + _SURFACE.replace("shaded(tone", "shaded(stone") if paved else _SURFACE
    return surface + _MELTED + _SHOWN


def _mesh(each: Part) -> Any:
    import pyvista

    make: Any = pyvista.PolyData.from_regular_faces
    mesh = make(each.vertices.astype(np.float32), each.faces)
    mesh.point_data.active_normals = each.normals.astype(np.float32)
    mesh.point_data["armColour"] = each.colours.astype(np.float32)
    mesh.point_data["armLight"] = each.light.astype(np.float32)
    return mesh


def _set_values(values: Any, each: Part, scene: Scene) -> None:
    for name, value in scene.sky.uniforms().items():
        if name == "lampLit":
            continue
        if isinstance(value, float):
            values.SetUniformf(name, value)
        else:
            values.SetUniform3f(name, value)
    values.SetUniformf("lampLit", 0.0 if scene.sky.lamps is None else 1.0)
    values.SetUniform3f("finish", [each.finish.roughness, each.finish.metal, float(each.finish.both_sides)])
    values.SetUniform2f("fade", list(scene.fade))


def sky_dome(scene: Scene) -> Part:
    """Return a cube blown up to a ball around everything that carries the sky."""
    radius = 60.0 * float(np.abs(scene.subject).max())
    line = np.linspace(-1.0, 1.0, 9)
    a, b = (each.ravel() for each in np.meshgrid(line, line, indexing="ij"))
    one = np.ones_like(a)
    sides = [
        np.stack(each, axis=1)
        for each in ((one, a, b), (-one, b, a), (a, one, b), (b, -one, a), (a, b, one), (b, a, -one))
    ]
    points = np.concatenate(sides)
    # A cube's corners would reach beyond what a camera draws and leave holes in the sky.
    points *= radius / np.linalg.norm(points, axis=1, keepdims=True)
    first = (np.arange(8)[:, None] * 9 + np.arange(8)).ravel()
    square = np.concatenate([np.stack([first, first + 9, first + 10], 1), np.stack([first, first + 10, first + 1], 1)])
    faces = np.concatenate([square + 81 * side for side in range(6)])
    return part(
        "sky", points, points / np.linalg.norm(points, axis=1, keepdims=True), faces, np.ones(3), Finish(1.0, 0.0)
    )
