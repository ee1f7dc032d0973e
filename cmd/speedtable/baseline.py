"""The ordinary Python stack on one plane: read, join, leave out long triangles,
integrate, sample on a raster, draw. Prints one JSON line of timings.

    python3 baseline.py PLANE.csv MAP.png
"""
import json
import sys
import time

begin = time.perf_counter()
import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

wall, cpu, memory = {}, {}, {}
last = [begin, 0.0]


def lap(stage):
    now, used = time.perf_counter(), time.process_time()
    wall[stage], cpu[stage] = now - last[0], used - last[1]
    last[:] = [now, used]
    with open("/proc/self/status") as status:
        for row in status:
            if row.startswith("VmHWM:"):
                memory[stage] = int(row.split()[1]) / 1024


lap("import")
plane = pd.read_csv(sys.argv[1])
y, z, u = (plane[name].to_numpy() for name in ("y", "z", "u"))
lap("read")

points = np.column_stack([y, z])
mesh = Delaunay(points)
corners = points[mesh.simplices]
sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
kept = sides <= 6 * np.median(sides)
lap("mesh")

a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
areas = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
deficit = (u * (1 - u))[mesh.simplices].mean(axis=1)
integral = float((areas * deficit)[kept].sum())
lap("integrate")

width, height = 1600, 900
gy, gz = np.meshgrid(np.linspace(y.min(), y.max(), width), np.linspace(z.min(), z.max(), height))
raster = LinearNDInterpolator(mesh, u)(gy, gz)
inside = mesh.find_simplex(np.column_stack([gy.ravel(), gz.ravel()])).reshape(raster.shape)
raster[(inside < 0) | ~kept[inside]] = np.nan
figure = plt.figure(figsize=(width / 100, height / 100), dpi=100)
axes = figure.add_axes([0.06, 0.07, 0.84, 0.88])
bands = axes.contourf(gy, gz, raster, levels=np.linspace(0.2, 1.05, 26), extend="both")
figure.colorbar(bands, cax=figure.add_axes([0.92, 0.07, 0.02, 0.88]))
axes.set_xlabel("y [m]")
axes.set_ylabel("z [m]")
figure.savefig(sys.argv[2])
lap("png")

wall["total"] = time.perf_counter() - begin
print(json.dumps({"s": wall, "cpu": cpu, "mb": memory, "n": len(y), "I": integral}))
