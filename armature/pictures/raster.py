"""Pictures drawn by VTK: the scene's own shading run on whatever OpenGL the machine has."""

from __future__ import annotations

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
_MELTED = "  seen = mix(seen, backdrop(0.0), smoothstep(fade.x, fade.y, length(worldPlace.xy)));\n"
_SKY = "  vec3 seen = backdrop(normalize(worldPlace - eyePlace).z);\n"
_SHOWN = "  gl_FragData[0] = vec4(shown(seen), 1.0);\n"


class GraphicsStage:
    """A scene set up once, to be drawn from any number of cameras."""

    def __init__(self, scene: Scene, size: tuple[int, int], window: str, fineness: int = 2) -> None:
        from vtkmodules import vtkRenderingOpenGL2
        from vtkmodules.vtkRenderingCore import vtkRenderer

        self.scene, self.size = scene, size
        self.window = getattr(vtkRenderingOpenGL2, window)()
        self.window.OffScreenRenderingOn()
        self.window.SetMultiSamples(0)
        self.window.SetAlphaBitPlanes(1)
        self.window.SetSize(size[0] * fineness, size[1] * fineness)
        self.renderer = vtkRenderer()
        self.renderer.SetBackgroundAlpha(0.0)
        self.window.AddRenderer(self.renderer)
        self.actors = [_actor(each, scene) for each in (*scene.parts, _dome(scene))]
        for actor in self.actors:
            self.renderer.AddActor(actor)

    def draw(self, camera: Camera, clear: bool = False) -> NDArray[np.uint8]:
        """Return the picture (H, W, 3), or (H, W, 4) with a see-through background."""
        from PIL import Image

        self.actors[-1].SetVisibility(not clear)
        view = self.renderer.GetActiveCamera()
        view.SetPosition(*camera.eye)
        view.SetFocalPoint(*camera.target)
        view.SetViewUp(*camera.up)
        view.SetViewAngle(camera.field)
        view.SetClippingRange(*self._depths(camera))
        for actor in self.actors:
            actor.GetShaderProperty().GetFragmentCustomUniforms().SetUniform3f("eyePlace", camera.eye.tolist())
        self.window.Render()
        # The window is drawn larger and averaged down: this smooths every edge, also those inside a surface.
        found = Image.fromarray(self._pixels()).resize(self.size, Image.Resampling.BOX)
        return np.asarray(found if clear else found.convert("RGB"))

    def close(self) -> None:
        """Give the window back."""
        self.window.Finalize()

    def _pixels(self) -> NDArray[np.uint8]:
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        wide, high = self.window.GetSize()
        values = vtkUnsignedCharArray()
        self.window.GetRGBACharPixelData(0, 0, wide - 1, high - 1, 0, values)
        return np.ascontiguousarray(vtk_to_numpy(values).reshape(high, wide, 4)[::-1])

    def _depths(self, camera: Camera) -> tuple[float, float]:
        away = (camera.eye - self.scene.subject) @ camera.axes[2]
        return max(float(away.min()) * 0.5, 20.0), 90.0 * float(np.abs(self.scene.subject).max())


def _actor(each: Part, scene: Scene) -> Any:
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    mapper, actor = vtkPolyDataMapper(), vtkActor()
    mapper.SetInputData(_mesh(each))
    # Moved or scaled coordinates would reach the shader as if they were the scene's.
    mapper.SetVBOShiftScaleMethod(0)
    mapper.ScalarVisibilityOff()
    for name in ("armColour", "armLight"):
        mapper.MapDataArrayToVertexAttribute(name, name, 0, -1)
    actor.SetMapper(mapper)
    actor.ForceOpaqueOn()
    shader = actor.GetShaderProperty()
    shader.AddVertexShaderReplacement("//VTK::Normal::Dec", True, "//VTK::Normal::Dec\n" + _VERTEX_NAMES, False)
    shader.AddVertexShaderReplacement("//VTK::Normal::Impl", True, "//VTK::Normal::Impl\n" + _VERTEX, False)
    names = "//VTK::Normal::Dec\n" + _FRAGMENT_NAMES + glsl()
    shader.AddFragmentShaderReplacement("//VTK::Normal::Dec", True, names, False)
    shader.AddFragmentShaderReplacement("//VTK::Light::Impl", True, _fragment(each.name), False)
    _set_values(shader.GetFragmentCustomUniforms(), each, scene)
    return actor


def _fragment(name: str) -> str:
    if name == "sky":
        return _SKY + _SHOWN
    return _SURFACE + (_MELTED if name == "ground" else "") + _SHOWN


def _mesh(each: Part) -> Any:
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    mesh, points, cells = vtkPolyData(), vtkPoints(), vtkCellArray()
    points.SetData(numpy_to_vtk(each.vertices.astype(np.float32), deep=True))
    cells.SetData(3, numpy_to_vtkIdTypeArray(each.faces.ravel(), deep=True))
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    data = mesh.GetPointData()
    data.SetNormals(numpy_to_vtk(each.normals.astype(np.float32), deep=True))
    for name, values in (("armColour", each.colours), ("armLight", each.light)):
        array = numpy_to_vtk(values.astype(np.float32), deep=True)
        array.SetName(name)
        data.AddArray(array)
    return mesh


def _set_values(values: Any, each: Part, scene: Scene) -> None:
    for name, value in scene.sky.uniforms().items():
        if isinstance(value, float):
            values.SetUniformf(name, value)
        else:
            values.SetUniform3f(name, value)
    values.SetUniform3f("finish", [each.finish.roughness, each.finish.metal, float(each.finish.both_sides)])
    values.SetUniform2f("fade", list(scene.fade))


def _dome(scene: Scene) -> Part:
    """Return a ball around everything that carries the sky."""
    radius = 60.0 * float(np.abs(scene.subject).max())
    line = np.linspace(-1.0, 1.0, 9)
    a, b = (each.ravel() for each in np.meshgrid(line, line, indexing="ij"))
    one = np.ones_like(a)
    sides = [
        np.stack(each, axis=1)
        for each in ((one, a, b), (-one, b, a), (a, one, b), (b, -one, a), (a, b, one), (b, a, -one))
    ]
    points = np.concatenate(sides) * radius
    first = (np.arange(8)[:, None] * 9 + np.arange(8)).ravel()
    square = np.concatenate([np.stack([first, first + 9, first + 10], 1), np.stack([first, first + 10, first + 1], 1)])
    faces = np.concatenate([square + 81 * side for side in range(6)])
    return part(
        "sky", points, points / np.linalg.norm(points, axis=1, keepdims=True), faces, np.ones(3), Finish(1.0, 0.0)
    )
