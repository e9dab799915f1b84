"""Reads a DXF file with ezdxf: prints its unit, the errors its audit finds, and how many things lie on each layer."""
import collections
import json
import sys

from ezdxf import recover

doc, audit = recover.readfile(sys.argv[1])
layers = collections.Counter(e.dxf.layer for e in doc.modelspace())
width = [e for e in doc.modelspace() if e.dxf.layer == "ROOMS" and e.dxftype() == "LWPOLYLINE"][0]
points = [list(p[:2]) for p in width.get_points()]
print(json.dumps({"units": doc.units, "errors": len(audit.errors), "layers": layers, "first_room": points}))
