"""DXF drawings by ezdxf (MIT): what other programs hand over. Writes into drawings/.

    pip install ezdxf==1.4.5
    python make_drawings.py
"""
import pathlib

import ezdxf
from ezdxf import units

OUT = pathlib.Path(__file__).parent / "drawings"


def save(name, doc):
    doc.saveas(OUT / name)


def new(version="R2010", unit=units.MM):
    doc = ezdxf.new(version)
    doc.units = unit
    return doc, doc.modelspace()


# Two rooms in millimetres: a closed polyline, and four loose lines in any order and direction.
doc, m = new()
m.add_lwpolyline([(0, 0), (6200, 0), (6200, 4600), (0, 4600)], close=True)
for a, b in [((6200, 0), (7800, 0)), ((7800, 4600), (7800, 0)), ((6200, 4600), (7800, 4600)), ((6200, 4600), (6200, 0))]:
    m.add_line(a, b)
m.add_text("workshop")
m.add_lwpolyline([(500, 500), (900, 500), (900, 900), (500, 900)], close=True)
save("two-rooms-mm.dxf", doc)

# Walls drawn as two faces, in metres, the old format with heavy polylines.
doc, m = new("R12", units.M)
m.add_polyline2d([(-0.2, -0.2), (5.2, -0.2), (5.2, 3.2), (-0.2, 3.2)], close=True)
m.add_polyline2d([(0, 0), (5, 0), (5, 3), (0, 3)], close=True)
save("double-walls-r12.dxf", doc)

# A bay: a straight side and a half circle of radius 2 m, bulge 1, in inches.
doc, m = new("R2000", units.IN)
i = 1 / 0.0254
m.add_lwpolyline([(0, 0, 0), (4 * i, 0, 0), (4 * i, 3 * i, 1), (0, 3 * i, 0)], format="xyb", close=True)
save("bay-inches.dxf", doc)

# No unit said.
doc, m = new("R2018", 0)
m.add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)
save("no-unit.dxf", doc)
