"""Writes one analytic plane in the library's formats, with the truth beside it.

usage: gen.py fixed|all|large FOLDER

The plane is x = 2.5, y from -1.0 to 1.4, z from 0 to 1.2, and carries
lin = 1 + 2y + 3z, whose integral is the same under any split into triangles.
"all" is every shape in every encoding, "fixed" the small set that is kept under
version control, "large" one plane of 15 000 points for the parallel paths.
FOLDER/truth.json lists the files with the counts, sums and integrals that the
library itself finds in memory, before anything is written.
"""

import itertools
import json
import math
import os
import sys

import vtk

Y0, Y1, Z0, Z1, X = -1.0, 1.4, 0.0, 1.2, 2.5
vtk.vtkObject.GlobalWarningDisplayOff()  # nan in an array makes the writers warn


def lin(p):
    return 1 + 2 * p[1] + 3 * p[2]


def array(cls, name, rows, comps=1, names=None):
    a = cls()
    a.SetName(name)
    a.SetNumberOfComponents(comps)
    for c, n in enumerate(names or []):
        if n:
            a.SetComponentName(c, n)
    a.SetNumberOfTuples(len(rows))
    for i, r in enumerate(rows):
        a.SetTuple(i, r if comps > 1 else (r,))
    return a


def decorate(ds, active=False, more=False):
    """Puts the point and cell arrays on a data set."""
    pts = [ds.GetPoint(i) for i in range(ds.GetNumberOfPoints())]
    pd, cd = ds.GetPointData(), ds.GetCellData()
    pd.AddArray(array(vtk.vtkDoubleArray, "lin", [lin(p) for p in pts]))
    pd.AddArray(array(vtk.vtkFloatArray, "Total Pressure", [101325 + 300 * math.sin(p[1]) * math.cos(3 * p[2]) for p in pts]))
    pd.AddArray(array(vtk.vtkDoubleArray, "vel <m/s> 100%", [(30 - p[2], math.sin(p[1]), p[1] * p[2]) for p in pts], 3, ["U", "", "W up"]))
    pd.AddArray(array(vtk.vtkIntArray, "index", list(range(-3, len(pts) - 3))))
    if more:
        pd.AddArray(array(vtk.vtkFloatArray, "gap", [float("nan") if i % 7 == 3 else i for i in range(len(pts))]))
        for cls in (vtk.vtkBitArray, vtk.vtkSignedCharArray, vtk.vtkUnsignedCharArray, vtk.vtkCharArray, vtk.vtkShortArray,
                    vtk.vtkUnsignedShortArray, vtk.vtkUnsignedIntArray, vtk.vtkLongArray, vtk.vtkUnsignedLongArray,
                    vtk.vtkLongLongArray, vtk.vtkUnsignedLongLongArray, vtk.vtkIdTypeArray):
            n = cls.__name__
            top = 2 if "Bit" in n else 100
            pd.AddArray(array(cls, n, [(7 * i) % top for i in range(len(pts))]))
    rows = []
    for i in range(ds.GetNumberOfCells()):
        c = ds.GetCell(i)
        q = [c.GetPoints().GetPoint(k) for k in range(c.GetNumberOfPoints())]
        rows.append(sum(lin(p) for p in q) / max(len(q), 1) + 0.001 * i)
    cd.AddArray(array(vtk.vtkDoubleArray, "cell lin", rows))
    cd.AddArray(array(vtk.vtkLongLongArray, "cell id", list(range(len(rows)))))
    if active:
        pd.SetActiveScalars("Total Pressure")
        pd.SetActiveVectors("vel <m/s> 100%")
        n = len(pts)
        pd.SetNormals(array(vtk.vtkFloatArray, "facing", [(1, 0, 0)] * n, 3))
        pd.SetTCoords(array(vtk.vtkFloatArray, "uv", [(p[1], p[2]) for p in pts], 2))
        pd.SetTensors(array(vtk.vtkDoubleArray, "stress", [tuple(i + 0.1 * k for k in range(9)) for i in range(n)], 9))
        pd.SetGlobalIds(array(vtk.vtkIdTypeArray, "gid", [10 + i for i in range(n)]))
        pd.SetPedigreeIds(array(vtk.vtkIdTypeArray, "origin id", [20 + i for i in range(n)]))
        cd.SetActiveScalars("cell lin")
    text = vtk.vtkStringArray()
    text.SetName("remark")
    text.InsertNextValue("two words")
    text.InsertNextValue("x" * 100)
    ds.GetFieldData().AddArray(text)
    ds.GetFieldData().AddArray(array(vtk.vtkDoubleArray, "TimeValue", [0.25]))
    return ds


def points(coords, double=True):
    p = vtk.vtkPoints()
    p.SetDataType(vtk.VTK_DOUBLE if double else vtk.VTK_FLOAT)
    for c in coords:
        p.InsertNextPoint(c)
    return p


def lattice(ny, nz, bend=0.0):
    out = []
    for j in range(nz):
        for i in range(ny):
            s, t = i / (ny - 1), j / (nz - 1)
            b = bend * math.sin(math.pi * s) * math.sin(math.pi * t)
            out.append((X, Y0 + (Y1 - Y0) * (s + b), Z0 + (Z1 - Z0) * (t - b)))
    return out


def cellarray(cells):
    ca = vtk.vtkCellArray()
    for c in cells:
        ca.InsertNextCell(len(c))
        for i in c:
            ca.InsertCellPoint(i)
    return ca


def polydata(coords, polys, verts=(), lines=(), strips=(), double=True, **kw):
    pd = vtk.vtkPolyData()
    pd.SetPoints(points(coords, double))
    for cells, put in ((verts, pd.SetVerts), (lines, pd.SetLines), (polys, pd.SetPolys), (strips, pd.SetStrips)):
        if cells:
            put(cellarray(cells))
    return decorate(pd, **kw)


def quads(ny, nz):
    return [[j * ny + i, j * ny + i + 1, (j + 1) * ny + i + 1, (j + 1) * ny + i] for j in range(nz - 1) for i in range(ny - 1)]


def shape_triangles():
    ny, nz = 9, 7
    return polydata(lattice(ny, nz, 0.05), [t for q in quads(ny, nz) for t in (q[:3], [q[0], q[2], q[3]])], active=True, more=True)


def shape_quads():
    return polydata(lattice(9, 7, 0.05), quads(9, 7), double=False)


def shape_hanging():
    """Coarse cells on the left, fine ones on the right; the coarse cells at the seam have a hanging node."""
    ids, coords = {}, []

    def at(i, j):  # in fine steps
        if (i, j) not in ids:
            ids[i, j] = len(coords)
            coords.append((X, Y0 + (Y1 - Y0) * i / 12, Z0 + (Z1 - Z0) * j / 6))
        return ids[i, j]

    cells = []
    for j in range(0, 6, 2):
        for i in range(0, 6, 2):
            c = [at(i, j), at(i + 2, j)]
            if i == 4:
                c.append(at(i + 2, j + 1))
            cells.append(c + [at(i + 2, j + 2), at(i, j + 2)])
    for j in range(6):
        for i in range(6, 12):
            cells.append([at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)])
    return polydata(coords, cells)


def shape_mixed():
    ny, nz = 7, 6
    left = [q for k, q in enumerate(quads(ny, nz)) if k % (ny - 1) < 3]
    strips = []
    for j in range(nz - 1):
        s = []
        for i in range(3, ny):
            s += [j * ny + i, (j + 1) * ny + i]
        strips.append(s)
    return polydata(lattice(ny, nz), left, verts=[[0], [3, 4]], lines=[[0, 1], [2, 3, 4]], strips=strips)


def shape_cells():
    ny, nz = 7, 6
    g = vtk.vtkUnstructuredGrid()
    g.SetPoints(points(lattice(ny, nz)))

    def put(t, c):
        l = vtk.vtkIdList()
        for i in c:
            l.InsertNextId(i)
        g.InsertNextCell(t, l)

    put(vtk.VTK_VERTEX, [3])
    for k, q in enumerate(quads(ny, nz)):
        if k % 5 == 0:
            put(vtk.VTK_TRIANGLE, q[:3])
            put(vtk.VTK_TRIANGLE, [q[0], q[2], q[3]])
        elif k % 5 == 1:
            put(vtk.VTK_PIXEL, [q[0], q[1], q[3], q[2]])
        elif k % 5 == 2:
            put(vtk.VTK_POLYGON, q)
        elif k % 5 == 3:
            put(vtk.VTK_TRIANGLE_STRIP, [q[0], q[1], q[3], q[2]])
        else:
            put(vtk.VTK_QUAD, q)
        if k == 10:
            put(vtk.VTK_LINE, [0, 1])
            put(vtk.VTK_POLY_LINE, [0, 1, 2])
    return decorate(g, more=True)


def shape_structured_i():
    g = vtk.vtkStructuredGrid()
    g.SetDimensions(1, 9, 7)
    g.SetPoints(points(lattice(9, 7, 0.05)))
    return decorate(g)


def shape_structured_j():
    g = vtk.vtkStructuredGrid()
    g.SetExtent(2, 10, 4, 4, -3, 3)
    g.SetPoints(points(lattice(9, 7, 0.05), False))
    return decorate(g)


def shape_blanked():
    g = vtk.vtkStructuredGrid()
    g.SetDimensions(9, 7, 1)
    g.SetPoints(points(lattice(9, 7, 0.05)))
    decorate(g)
    for i in (0, 30, 31):
        g.BlankPoint(i)
    for i in (5, 44):
        g.BlankCell(i)
    return g


def shape_rectilinear():
    g = vtk.vtkRectilinearGrid()
    g.SetDimensions(1, 9, 7)
    ys = [Y0 + (Y1 - Y0) * (i / 8) ** 2 for i in range(9)]
    zs = [Z0 + (Z1 - Z0) * (i / 6) ** 1.5 for i in range(7)]
    g.SetXCoordinates(array(vtk.vtkDoubleArray, "x", [X]))
    g.SetYCoordinates(array(vtk.vtkDoubleArray, "y", ys))
    g.SetZCoordinates(array(vtk.vtkDoubleArray, "z", zs))
    return decorate(g)


def shape_image():
    g = vtk.vtkImageData()
    g.SetDimensions(1, 9, 7)
    g.SetOrigin(X, Y0, Z0)
    g.SetSpacing(1, (Y1 - Y0) / 8, (Z1 - Z0) / 6)
    return decorate(g)


def shape_turned():
    """An image whose i runs along y, j along z and k along x, with an extent that does not begin at 0."""
    g = vtk.vtkImageData()
    g.SetExtent(4, 12, -2, 4, 3, 3)
    sy, sz = (Y1 - Y0) / 8, (Z1 - Z0) / 6
    g.SetSpacing(sy, sz, 0.5)
    g.SetDirectionMatrix(0, 0, 1, 1, 0, 0, 0, 1, 0)
    g.SetOrigin(X - 1.5, Y0 - 4 * sy, Z0 + 2 * sz)
    return decorate(g)


SHAPES = {f[6:]: globals()[f] for f in list(globals()) if f.startswith("shape_")}
FLAT = {vtk.VTK_TRIANGLE, vtk.VTK_TRIANGLE_STRIP, vtk.VTK_POLYGON, vtk.VTK_PIXEL, vtk.VTK_QUAD}


def weighted(values):
    """A sum that knows the order of the values, with their count and that of nan."""
    s, m, n = 0.0, 0.0, 0
    for k, v in enumerate(values):
        if v != v:
            n += 1
        else:
            s += v * math.cos(0.37 * k)
            m += abs(v)
    return {"sum": s, "scale": m, "count": len(values), "nan": n}


def truth(ds):
    """What a reader has to find, by the library's own account."""
    gridded = not isinstance(ds, (vtk.vtkPolyData, vtk.vtkUnstructuredGrid))
    marked, ds = ds, ds.NewInstance()
    ds.DeepCopy(marked)
    for data in (ds.GetPointData(), ds.GetCellData()):
        data.RemoveArray("vtkGhostType")  # else blanked cells have no corners
    corners, sizes, rows, hidden, visible = [], [], [], [], vtk.vtkIdList()
    for i in range(ds.GetNumberOfCells()):
        t = ds.GetCellType(i)
        if t not in FLAT:
            continue
        c = ds.GetCell(i)
        ids = [c.GetPointId(k) for k in range(c.GetNumberOfPoints())]
        if t == vtk.VTK_PIXEL:
            ids = [ids[0], ids[1], ids[3], ids[2]]
        parts = [ids]
        if t == vtk.VTK_TRIANGLE_STRIP:
            parts = [[ids[k - 2], ids[k - 1], ids[k]] if k % 2 == 0 else [ids[k - 1], ids[k - 2], ids[k]] for k in range(2, len(ids))]
        show = not gridded or marked.IsCellVisible(i) != 0
        for p in parts:
            corners += p
            sizes.append(len(p))
            rows.append(i)
            hidden.append(not show)
        if show:
            visible.InsertNextId(i)
    n = ds.GetNumberOfPoints()
    ghosts = marked.GetCellGhostArray()
    hidden_points = [gridded and marked.IsPointVisible(i) == 0 for i in range(n)]
    out = {
        "points": weighted([v for i in range(n) for v in ds.GetPoint(i)]),
        "corners": weighted(corners),
        "sizes": weighted(sizes),
        "hidden points": sum(hidden_points),
        "hidden cells": sum(hidden),
        "point arrays": {},
        "cell arrays": {},
    }
    for key, data, pick in (("point arrays", ds.GetPointData(), range(n)), ("cell arrays", ds.GetCellData(), rows)):
        for k in range(data.GetNumberOfArrays()):
            a = data.GetArray(k)
            w = []
            for i in pick:
                # Points and cells that are blanked have no value.
                blank = hidden_points[i] if key == "point arrays" else gridded and ghosts and ghosts.GetValue(i) & 32
                w += [float("nan") if blank else v for v in a.GetTuple(i)]
            out[key][a.GetName()] = dict(weighted(w), components=a.GetNumberOfComponents())
    ex = vtk.vtkExtractCells()
    ex.SetInputData(ds)
    ex.SetCellList(visible)
    it = vtk.vtkIntegrateAttributes()
    it.SetInputConnection(ex.GetOutputPort())
    it.Update()
    out["area"] = it.GetOutput().GetCellData().GetArray("Area").GetValue(0)
    out["lin"] = it.GetOutput().GetPointData().GetArray("lin").GetValue(0)
    out["cell lin"] = it.GetOutput().GetCellData().GetArray("cell lin").GetValue(0)
    return out


XML = {
    "vtkPolyData": (vtk.vtkXMLPolyDataWriter, "vtp", vtk.vtkPolyDataWriter),
    "vtkUnstructuredGrid": (vtk.vtkXMLUnstructuredGridWriter, "vtu", vtk.vtkUnstructuredGridWriter),
    "vtkStructuredGrid": (vtk.vtkXMLStructuredGridWriter, "vts", vtk.vtkStructuredGridWriter),
    "vtkRectilinearGrid": (vtk.vtkXMLRectilinearGridWriter, "vtr", vtk.vtkRectilinearGridWriter),
    "vtkImageData": (vtk.vtkXMLImageDataWriter, "vti", vtk.vtkStructuredPointsWriter),
}
MODES = ("ascii", "binary", "raw", "base64")
COMPRESSORS = ("none", "zlib", "lz4", "lzma")


def setup(w, mode, comp, head, big, ids, block):
    {"ascii": w.SetDataModeToAscii, "binary": w.SetDataModeToBinary}.get(mode, w.SetDataModeToAppended)()
    w.SetEncodeAppendedData(mode == "base64")
    {"none": w.SetCompressorTypeToNone, "zlib": w.SetCompressorTypeToZLib, "lz4": w.SetCompressorTypeToLZ4, "lzma": w.SetCompressorTypeToLZMA}[comp]()
    w.SetHeaderType(head)
    w.SetByteOrder(0 if big else 1)
    w.SetIdType(ids)
    w.SetBlockSize(block)


class Out:
    def __init__(self, folder):
        self.folder, self.files, self.shapes = folder, [], {}

    def add(self, name, shape, digits, **more):
        self.files.append(dict(file=name, shape=shape, digits=digits, **more))

    def path(self, name):
        return os.path.join(self.folder, name)

    def xml(self, shape, ds, combo, block=512):
        w, ext, _ = XML[ds.GetClassName()]
        w = w()
        mode, comp, head, big, ids = combo
        name = "%s-%s-%s-h%d-%s-id%d.%s" % (shape, mode, comp, head, "be" if big else "le", ids, ext)
        setup(w, *combo, block)
        w.SetInputData(ds)
        w.SetFileName(self.path(name))
        assert w.Write() == 1
        self.add(name, shape, 1e-10 if mode == "ascii" else 1e-14)

    def legacy(self, shape, ds, version, binary, extent=False):
        w = XML[ds.GetClassName()][2]()
        w.SetFileVersion(version)
        if binary:
            w.SetFileTypeToBinary()
        else:
            w.SetFileTypeToASCII()
        if extent:
            w.SetWriteExtent(True)
        name = "%s-v%d-%s%s.vtk" % (shape, version, "binary" if binary else "ascii", "-extent" if extent else "")
        w.SetInputData(ds)
        w.SetFileName(self.path(name))
        assert w.Write() == 1
        # Text keeps up to 11 digits of a double; the image's spacing just 6.
        digits = 1e-14 if binary else 1e-9
        turned = False
        if isinstance(ds, vtk.vtkImageData):
            digits = 3e-6
            turned = shape == "turned"
        if not binary:
            digits = max(digits, 1e-6)  # and 6 of a float
        self.add(name, shape, digits, unplaced=turned)

    def save(self):
        with open(self.path("truth.json"), "w") as f:
            json.dump({"library": vtk.vtkVersion().GetVTKVersion(), "shapes": self.shapes, "files": self.files}, f, indent=0, sort_keys=True)
            f.write("\n")


def whole_product():
    yield ("ascii", "none", 32, False, 64)
    yield from itertools.product(MODES[1:], COMPRESSORS, (32, 64), (False, True), (32, 64))


def parallel(out, shape, ds, writer, ext, pieces, ghosts):
    w = writer()
    setup(w, "raw", "zlib", 64, False, 64, 32768)
    w.SetNumberOfPieces(pieces)
    w.SetStartPiece(0)
    w.SetEndPiece(pieces - 1)
    w.SetGhostLevel(ghosts)
    w.SetInputData(ds)
    name = "%s-parallel-%d-ghost%d.%s" % (shape, pieces, ghosts, ext)
    w.SetFileName(out.path(name))
    assert w.Write() == 1
    out.add(name, shape, 1e-14, pieces=pieces)


def split(ds, parts):
    """Cuts polygonal data into parts by cell number."""
    n = ds.GetNumberOfCells()
    for k in range(parts):
        ex = vtk.vtkExtractCells()
        ex.SetInputData(ds)
        l = vtk.vtkIdList()
        for i in range(n * k // parts, n * (k + 1) // parts):
            l.InsertNextId(i)
        ex.SetCellList(l)
        ex.Update()
        part = ex.GetOutput()
        part.GetCellData().RemoveArray("vtkOriginalCellIds")  # added by the filter
        yield part


def blocks(out, shapes):
    mb = vtk.vtkMultiBlockDataSet()
    inner = vtk.vtkMultiBlockDataSet()
    for k, s in enumerate(shapes):
        target, at = (mb, k) if k == 0 else (inner, k - 1)
        target.SetBlock(at, SHAPES[s]())
        target.GetMetaData(at).Set(vtk.vtkCompositeDataSet.NAME(), s + " <&> block")
    inner.SetBlock(len(shapes), vtk.vtkPolyData())  # empty
    mb.SetBlock(1, inner)
    mb.GetMetaData(1).Set(vtk.vtkCompositeDataSet.NAME(), "inner")
    w = vtk.vtkXMLMultiBlockDataWriter()
    setup(w, "base64", "zlib", 32, False, 64, 32768)
    w.SetInputData(mb)
    w.SetFileName(out.path("blocks.vtm"))
    assert w.Write() == 1
    out.add("blocks.vtm", shapes[0], 1e-14, blocks=list(shapes))


def pieces_in_one_file(out, shape, ds, parts):
    """Joins the pieces of several files into one, as a text."""
    w = vtk.vtkXMLUnstructuredGridWriter()
    setup(w, "binary", "zlib", 32, False, 32, 512)
    w.WriteToOutputStringOn()
    texts = []
    for part in split(ds, parts):
        w.SetInputData(part)
        w.Write()
        texts.append(w.GetOutputString())
    body = "".join(t[t.index("<Piece"):t.index("</Piece>") + 8] + "\n" for t in texts)
    name = shape + "-pieces.vtu"
    with open(out.path(name), "w") as f:
        f.write(texts[0][:texts[0].index("<Piece")] + body + "</UnstructuredGrid></VTKFile>\n")
    out.add(name, shape, 1e-14, pieces=parts)


def main(what, folder):
    out = Out(folder)
    combos = list(whole_product())
    # Each mode with each compressor, and all else about as often one way as the other.
    few = [combos[0]] + [
        (m, c, (32, 64)[n % 2], n % 3 == 0, (64, 32)[n // 2 % 2])
        for n, (m, c) in enumerate(itertools.product(MODES[1:], COMPRESSORS))
    ]
    if what == "large":
        ds = polydata(lattice(150, 100, 0.05), quads(150, 100))
        out.shapes["large"] = truth(ds)
        for combo in combos[1::12]:
            out.xml("large", ds, combo, 32768)
        out.legacy("large", ds, 51, True)
        out.legacy("large", ds, 42, False)
        out.save()
        return
    for k, (name, make) in enumerate(SHAPES.items()):
        ds = make()
        out.shapes[name] = truth(ds)
        if what == "fixed":
            for combo in few[k::len(SHAPES)]:
                out.xml(name, ds, combo)
            out.legacy(name, ds, (42, 51)[k // 2 % 2], k % 2 == 0)
            continue
        some = combos if name in ("cells", "hanging") else combos[k % 7::7] + combos[:1]
        for combo in dict.fromkeys(some):
            out.xml(name, ds, combo)
        for version, binary in itertools.product((42, 51), (False, True)):
            out.legacy(name, ds, version, binary)
            if isinstance(ds, (vtk.vtkStructuredGrid, vtk.vtkRectilinearGrid)):
                out.legacy(name, ds, version, binary, True)
    if what == "all":
        for n, g in ((3, 0), (4, 1)):
            parallel(out, "structured_i", SHAPES["structured_i"](), vtk.vtkXMLPStructuredGridWriter, "pvts", n, g)
            parallel(out, "blanked", SHAPES["blanked"](), vtk.vtkXMLPStructuredGridWriter, "pvts", n, g)
            parallel(out, "rectilinear", SHAPES["rectilinear"](), vtk.vtkXMLPRectilinearGridWriter, "pvtr", n, g)
            parallel(out, "turned", SHAPES["turned"](), vtk.vtkXMLPImageDataWriter, "pvti", n, g)
        parallel(out, "mixed", SHAPES["mixed"](), vtk.vtkXMLPPolyDataWriter, "pvtp", 1, 0)
        parallel(out, "cells", SHAPES["cells"](), vtk.vtkXMLPUnstructuredGridWriter, "pvtu", 1, 0)
    else:
        parallel(out, "structured_i", SHAPES["structured_i"](), vtk.vtkXMLPStructuredGridWriter, "pvts", 3, 1)
    pieces_in_one_file(out, "hanging", SHAPES["hanging"](), 3)
    blocks(out, ("quads", "cells", "blanked"))
    out.save()


if __name__ == "__main__":
    if len(sys.argv) != 3 or sys.argv[1] not in ("fixed", "all", "large"):
        sys.exit(__doc__)
    main(*sys.argv[1:])
