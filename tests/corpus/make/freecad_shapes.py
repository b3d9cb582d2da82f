"""Writes freecad.dxf and freecad.svg: a sketch-like part as FreeCAD exports it.

    freecadcmd freecad_shapes.py        needs FreeCAD (Debian: apt-get install freecad-python3)

The files go to the folder above this one, or to $OUT.
"""

import os

import FreeCAD
import Part
from FreeCAD import Vector

folder = os.environ.get("OUT") or os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
document = FreeCAD.newDocument("shapes")


def add(name, edges):
    feature = document.addObject("Part::Feature", name)
    feature.Shape = Part.Wire(edges)
    return feature


slot = add(
    "Slot",
    [
        Part.makeLine(Vector(20, 0, 0), Vector(80, 0, 0)),
        Part.Arc(Vector(80, 0, 0), Vector(100, 20, 0), Vector(80, 40, 0)).toShape(),
        Part.makeLine(Vector(80, 40, 0), Vector(20, 40, 0)),
        Part.Arc(Vector(20, 40, 0), Vector(0, 20, 0), Vector(20, 0, 0)).toShape(),
    ],
)
ring = add("Ring", [Part.makeCircle(25, Vector(150, 30, 0))])
spline = Part.BSplineCurve()
spline.interpolate([Vector(0, 80, 0), Vector(40, 120, 0), Vector(90, 70, 0), Vector(120, 100, 0)])
fin = add("Fin", [spline.toShape(), Part.makeLine(Vector(120, 100, 0), Vector(120, 60, 0)),
                  Part.makeLine(Vector(120, 60, 0), Vector(0, 60, 0)), Part.makeLine(Vector(0, 60, 0), Vector(0, 80, 0))])
egg = add("Egg", [Part.Ellipse(Vector(200, 100, 0), 40, 20).toShape()])
document.recompute()

import importDXF

FreeCAD.ParamGet("User parameter:BaseApp/Preferences/Mod/Draft").SetBool("dxfUseLegacyExporter", False)
importDXF.export([slot, ring, fin, egg], os.path.join(folder, "freecad.dxf"))
print("written")
