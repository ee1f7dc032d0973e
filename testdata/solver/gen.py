"""Writes the files of this folder: a wake as a finite-volume solver exports it.

On the ground plane z = 0 behind the campus shuttle, with r² = y² + z², s = 0.6 m:
    u = U (1 − e g),  cp = −c g,  g = exp(−r²/2s²),  e = 0.3, c = 0.1, U = 25 m/s.
The momentum integral of 2 u/U (1 − u/U) − cp over the half plane z > 0 is
    drag area = π s² (e (2 − e) + c) = 0.68989 m².
Values belong to cells of 0.3 m, whose sum is that integral to better than 1e-9 of it, as
g is even in y and z. The pressure is kinematic, p/ρ in m²/s², and so is the total
pressure, without a word of it.
"""
import base64, gzip, math, struct

U, e, c, s, h, x = 25.0, 0.3, 0.1, 0.6, 0.3, 2.5
ny, nz, y0 = 24, 20, -3.6
area = 2.55
drag = math.pi * s * s * (e * (2 - e) + c)

cells = []
for j in range(nz):
    for i in range(ny):
        y, z = y0 + (i + 0.5) * h, (j + 0.5) * h
        g = math.exp(-(y * y + z * z) / (2 * s * s))
        u, v, w, p = U * (1 - e * g), 0.5 * y * g, 0.5 * z * g, -c * g * U * U / 2
        cells.append((y, z, u, v, w, p, p + (u * u + v * v + w * w) / 2))

# A surface in the open XML format. The header of the connectivity announces four times
# the bytes that are there, as one solver writes it.
def array(typ, name, comps, fmt, values, announce=1):
    body = struct.pack("<%d%s" % (len(values), fmt), *values)
    text = base64.b64encode(struct.pack("<I", announce * len(body)) + body).decode()
    return '<DataArray type="%s" Name="%s" NumberOfComponents="%d" format="binary">%s</DataArray>\n' % (typ, name, comps, text)

points = [v for j in range(nz + 1) for i in range(ny + 1) for v in (x, y0 + i * h, j * h)]
corner = lambda i, j: j * (ny + 1) + i
quads = [k for j in range(nz) for i in range(ny) for k in (corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1))]
with open("surface.vtp", "w", newline="\n") as f:
    f.write('<?xml version="1.0"?>\n<VTKFile type="PolyData" version="0.1" byte_order="LittleEndian">\n<PolyData>\n')
    f.write('<Piece NumberOfPoints="%d" NumberOfPolys="%d">\n<Points>\n' % (len(points) // 3, ny * nz))
    f.write(array("Float32", "Points", 3, "f", points))
    f.write("</Points>\n<Polys>\n")
    f.write(array("Int32", "connectivity", 1, "i", quads, announce=4))
    f.write(array("Int32", "offsets", 1, "i", [4 * (k + 1) for k in range(ny * nz)]))
    f.write("</Polys>\n<CellData>\n")
    f.write(array("Float32", "U", 3, "f", [v for k in cells for v in k[2:5]]))
    f.write(array("Float32", "p", 1, "f", [k[5] for k in cells]))
    f.write(array("Float32", "p_t", 1, "f", [k[6] for k in cells]))
    f.write("</CellData>\n</Piece>\n</PolyData>\n</VTKFile>\n")

# The same as text, below a preface of comments.
with open("surface.xy", "w", newline="\n") as f:
    f.write("# plane aft of the shuttle, face data %d\n#  x  y  z  U_x  U_y  U_z  p  p_t\n" % len(cells))
    for k in cells:
        f.write(" ".join("%.7g" % v for v in (x,) + k) + "\n")

# The history of the coefficients, whose mean is drag/area: an alternation on top, and a
# start that does not belong.
text = "# coefficients of the shuttle\n# speed 25 m/s, area %g m2\n# Time        \tCd           \tCl           \tCd(f)        \tCd(r)        \n" % area
for k in range(240):
    cd = drag / area + 0.004 * math.sin(2 * math.pi * (k - 40) / 20) if k >= 40 else 3.0
    text += "%g\t%.9g\t%.9g\t%.9g\t%.9g\n" % ((k + 1) * 0.05, cd, -0.05, cd / 2, cd / 2)
with open("history.dat.gz", "wb") as f:
    with gzip.GzipFile(filename="", mode="wb", fileobj=f, mtime=0) as z:
        z.write(text.encode())
