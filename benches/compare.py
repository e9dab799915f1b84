"""Lines of sight a second, one thread: this project against Embree on the same lines and triangles.

    pip install embreex numpy
    mkdir -p target/compare
    TAPEMARK_LINES_OUT=$PWD/target/compare cargo bench -p tapemark-core --bench how_many_lines_of_sight
    python benches/compare.py target/compare

Prints both and their ratio. Embree sees round things as 24-sided ones, so the shares hidden differ a little.
"""
import json
import pathlib
import sys
import time

import numpy as np
from embreex import rtcore_scene
from embreex.mesh_construction import TriangleMesh

folder = pathlib.Path(sys.argv[1])
data = json.loads((folder / "lines.json").read_text())
lines = np.asarray(data["lines"], np.float32)
triangles = np.asarray(data["triangles"], np.float32)
scene = rtcore_scene.EmbreeScene()
TriangleMesh(scene, triangles)
origins = np.ascontiguousarray(lines[:, 0] + 1e-4 * (lines[:, 1] - lines[:, 0]))
along = np.ascontiguousarray(0.9998 * (lines[:, 1] - lines[:, 0]))
reach = np.ones(len(lines), np.float32)
best = float("inf")
for _ in range(20):
    start = time.perf_counter()
    met = scene.run(origins, along, reach, query="OCCLUDED")
    best = min(best, time.perf_counter() - start)
share = float(np.mean(np.asarray(met) != -1)) if np.asarray(met).dtype.kind == "i" else float(np.mean(met))
theirs = len(lines) / best
estimates = pathlib.Path(__file__).parent.parent / "target/criterion/lines of sight/one thread/new/estimates.json"
ours = len(lines) / (json.loads(estimates.read_text())["median"]["point_estimate"] * 1e-9)
print(f"hidden: ours {data['blocked_share']:.4f}, Embree {share:.4f} of {len(lines)} lines, {len(triangles)} triangles")
print(f"lines a second, one thread: ours {ours / 1e6:.2f} M, Embree {theirs / 1e6:.2f} M, ratio {ours / theirs:.2f}")
