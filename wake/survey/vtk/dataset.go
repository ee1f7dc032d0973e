package vtk

import "strings"

// Dataset is one set of points, polygons and values.
type Dataset struct {
	// Points holds x, y, z of point i at 3i, 3i+1, 3i+2, as written. Points that
	// no polygon uses are kept, and points that several pieces share are several.
	// The place is NaN where vtkGhostType has bit 2 or vtkValidPointMask is 0, or where
	// a coordinate is not finite. A polygon with such a corner is left out, and one whose
	// vtkGhostType has bit 1 (a copy of another piece's cell), 8 (refined elsewhere) or
	// 32 (blanked).
	Points []float64
	Cells  Polygons
	// PointArrays have one tuple for each point, CellArrays one for each polygon,
	// in the order of the file. The arrays that mark ghosts and masks are used up
	// by the reader and are not among them.
	PointArrays, CellArrays []Array
	// Notes are doubtful findings in plain words, each with its number.
	Notes []string
}

func (d *Dataset) NumPoints() int { return len(d.Points) / 3 }

func find(as []Array, name string) *Array {
	for i := range as {
		if as[i].Name == name {
			return &as[i]
		}
	}
	return nil
}

// Polygons lists the corners of polygons: polygon e has the corners
// Index[Start[e]] … Index[Start[e+1]-1], numbers of points. Neighbouring corners
// differ, and each polygon has at least three.
type Polygons struct {
	Start []int32
	Index []int32
}

// Len counts the polygons.
func (p *Polygons) Len() int { return max(len(p.Start)-1, 0) }

// Corners returns the corners of polygon e, a part of Index.
func (p *Polygons) Corners(e int) []int32 { return p.Index[p.Start[e]:p.Start[e+1]] }

// Array holds the tuples of one array, one after the other: component c of tuple
// i is Values[i*Components+c]. A value is NaN where the file says nan, and in pieces that
// lack the array.
type Array struct {
	Name       string
	Components int
	Values     []float64
	// ComponentNames has one name for each component, "" where it has none, or is nil when the
	// file names none.
	ComponentNames []string
}

type kind uint8

const (
	polyData kind = iota
	unstructured
	structured
	rectilinear
	image
)

func (k kind) String() string {
	return [...]string{"polygonal data", "unstructured grid", "structured grid", "rectilinear grid", "image"}[k]
}

// gridded reports whether points are numbered by three indices.
func (k kind) gridded() bool { return k >= structured }

type piece struct {
	src  *source
	off  int
	kind kind
	// points is nil for rectilinear grids and images.
	points  []float64
	nPoints int
	// groups hold the cells in the order of the cell values, of which there are
	// rows.
	groups []cellGroup
	rows   int
	// extent of gridded pieces: first and last index along i, j, k.
	extent [6]int
	axes   [3][]float64
	// Point (i,j,k) of an image is origin + direction·(spacing∘(i,j,k)).
	origin, spacing [3]float64
	direction       [9]float64
	point, cell     []Array
	// measured is set once an array's length has confirmed nPoints or rows
	// against bytes of the file.
	measured bool
	notes    []string
}

func newPiece(s *source, k kind, off int) *piece {
	return &piece{src: s, kind: k, off: off, extent: [6]int{0, -1, 0, -1, 0, -1}, spacing: [3]float64{1, 1, 1}, direction: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}}
}

// Names by which the library marks points and cells.
const (
	ghostType = "vtkGhostType"
	validMask = "vtkValidPointMask"
)

// marks reports whether an array is one of the library's own marks, which are
// read whatever the caller wants.
func marks(name string) bool {
	return name == ghostType || name == validMask
}

func (p *piece) addArray(as *[]Array, a Array) {
	if find(*as, a.Name) != nil {
		p.notes = append(p.notes, "the array "+quote(a.Name)+" is there twice; the first one is used")
		return
	}
	*as = append(*as, a)
}

// quote puts a name from the file in quotes, shortened and with what cannot be
// printed replaced, so that a damaged file cannot spoil a message.
func quote(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0xfffd {
			return '?'
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 60 {
		s = string(r[:60]) + "…"
	}
	return `"` + s + `"`
}
