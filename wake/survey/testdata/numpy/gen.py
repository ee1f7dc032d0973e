"""Writes the plane of six samples as NumPy arrays: python3 gen.py FOLDER."""

import os
import sys

import numpy as np

x = [2.5] * 6
y = [-0.25, 0.125, 0.5] * 2
z = [0.25] * 3 + [0.75] * 3
u = [20.5, 18.25, 22, 24.5, 23.75, 25]
v = [0.5, -0.25, 0.125, 0, -1.5, 0.75]
w = [-0.125, 1.25, 0.25, -0.5, 0.375, 2]
p = [-40.5, -61.25, -33, -12.5, -8.75, 2.5]
names = ["x", "y", "z", "u", "v", "w", "p"]
table = np.array([x, y, z, u, v, w, p]).T
os.chdir(sys.argv[1])
for order, tag in (("<", "le"), (">", "be")):
    for kind in ("f4", "f8"):
        np.save(f"plain-{kind}-{tag}.npy", np.ascontiguousarray(table).astype(order + kind))
        rec = np.zeros(6, dtype=[(n, order + kind) for n in names])
        for n, col in zip(names, table.T):
            rec[n] = col
        np.save(f"fields-{kind}-{tag}.npy", rec)
    for kind in ("i4", "i8"):
        np.save(f"whole-{kind}-{tag}.npy", (table * 1000).astype(order + kind))
np.save("fortran.npy", np.asfortranarray(table))
aligned = np.zeros(6, dtype=np.dtype([("id", "u1"), ("pos [m]", "<f8", (3,)), ("vel", "<f4", (3,)), ("p [Pa]", ">f8")], align=True))
aligned["pos [m]"], aligned["vel"], aligned["p [Pa]"] = table[:, :3], table[:, 3:6], table[:, 6]
np.save("aligned.npy", aligned)
cols = dict(zip(names, table.T))
np.savez("columns.npz", time=np.array(0.25), **cols)
np.savez_compressed("packed.npz", **cols)
np.savez("vectors.npz", position=table[:, :3], velocity=np.asfortranarray(table[:, 3:6]), pressure=table[:, 6])
np.save("objects.npy", np.array([1, None, "x"], dtype=object), allow_pickle=True)
np.save("cube.npy", np.zeros((2, 3, 4)))
np.save("complex.npy", np.zeros((4, 3), dtype=complex))
