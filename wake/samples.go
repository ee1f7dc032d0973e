package wake

import (
	"slices"
	"strconv"

	"wakeledger/grid"
)

// Samples is what a reader makes of one file: columns in SI units in the
// program's frame (x aft, y right, z up), before any plane is recognised.
type Samples struct {
	// File is the name as the user gave it.
	File string
	// Col holds the columns; a quantity that the file lacks is nil. All present
	// columns have N values. NaN marks a missing value; the position columns
	// hold none.
	Col [NumQuantities][]float64
	N   int
	// Source keeps, for each present column, how it was found in the file.
	Source [NumQuantities]Source
	// Dropped counts rows left out because a value that the row cannot do
	// without was missing (nan, empty, null).
	Dropped int
	// CellValues is true when the file says that values belong to cells.
	CellValues bool
	// Elements, when the file holds elements, lists their corners: corners are
	// samples when values belong to points, entries of Elements.Corner (and one
	// element is one sample) when CellValues is true.
	Elements *Elements
	// LineOf gives the file line of sample i, for error messages; nil where lines
	// have no meaning.
	LineOf func(i int) int
	// Ignored lists the columns that were not understood or not needed.
	Ignored []string
	// Errors are what is known of the samples' errors.
	Errors []SampleError
	// Blocks are there for a time mean that was kept by blocks of its record.
	Blocks *Blocks
	// Time, s, is the length of the record that they are the time mean of; 0 where it is not known.
	Time float64
	// Warnings from reading.
	Warnings []Warning
}

// Elements is a list of polygons: element e has the corners
// Index[Start[e]] … Index[Start[e+1]-1]. For cell values they index Corner, for
// point values they index the samples.
type Elements struct {
	Corner [][3]float64
	Start  []int32
	Index  []int32
}

// Source says where a column came from.
type Source struct {
	// Name is the header as written, without its unit; "column 4" where there is
	// no header.
	Name string
	// Unit is the unit as written; empty when none was given and SI was assumed.
	Unit string
	// By says who decided: "file", "flag" or "study".
	By string
	// Factor took the written value to SI.
	Factor float64
}

// Line is the file line of sample i, 0 where lines have no meaning.
func (s *Samples) Line(i int) int {
	if s.LineOf == nil {
		return 0
	}
	return s.LineOf(i)
}

// Has reports whether all the quantities are present.
func (s *Samples) Has(qs ...Quantity) bool {
	return !slices.ContainsFunc(qs, func(q Quantity) bool { return s.Col[q] == nil })
}

// Axis is a direction of the program's frame.
type Axis uint8

// The three axes: x aft, y to the vehicle's right, z up.
const (
	AxisX Axis = iota
	AxisY
	AxisZ
)

// String returns x, y or z.
func (a Axis) String() string { return "xyz"[a : a+1] }

// InPlane returns the two axes of a plane normal to a, in the order in which
// they become the mesh's X and Y: (y,z), (x,z) or (x,y).
func (a Axis) InPlane() (Axis, Axis) {
	switch a {
	case AxisX:
		return AxisY, AxisZ
	case AxisY:
		return AxisX, AxisZ
	}
	return AxisX, AxisY
}

// Plane is one survey plane: a mesh in the plane's two coordinates and the
// fields on its samples.
type Plane struct {
	// File is the name as the user gave it; Part counts the planes of a file from
	// 1 and is 0 when it holds just one.
	File string
	Part int
	// Normal is the axis that the plane is normal to, Position the plane's mean
	// coordinate along it and Scatter the largest distance of a sample from it, m.
	Normal            Axis
	Position, Scatter float64
	Mesh              *grid.Mesh
	// Field holds one value a sample of the mesh; nil where absent.
	Field [NumQuantities][]float64
	// Source is that of the samples, and Ignored their columns that were not used.
	Source  [NumQuantities]Source
	Ignored []string
	// Samples counts the rows that the plane was made from, Dropped the rows left
	// out for missing values, Merged the duplicates that were averaged away.
	Samples, Dropped, Merged int
	// SupportBy says who decided the support: "default", "file", "flag" or "study".
	SupportBy string
	// Errors are what is known of the samples' errors, one value a sample of the mesh.
	Errors []SampleError
	// Blocks are those of the samples, one value a sample of the mesh.
	Blocks *Blocks
	// Time is that of the samples.
	Time     float64
	Warnings []Warning
}

// Name is the file with the part, for messages.
func (p *Plane) Name() string {
	if p.Part == 0 {
		return p.File
	}
	return p.File + "#" + strconv.Itoa(p.Part)
}

// Has reports whether all the quantities are present.
func (p *Plane) Has(qs ...Quantity) bool {
	return !slices.ContainsFunc(qs, func(q Quantity) bool { return p.Field[q] == nil })
}
