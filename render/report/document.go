package report

import (
	"io"
	"slices"
	"strings"
)

// Document is what an outcome says, before it is laid out: sections of paragraphs and
// tables. Text prints it, and the page takes its tables.
type Document []Section

// Section is a run of blocks below a title; an empty title sets them apart by a blank
// line alone.
type Section struct {
	Rank   Rank
	Title  string
	Blocks []Block
}

// Rank is how the title of a section is set.
type Rank int

const (
	Head       Rank = iota // a line
	Rule                   // a line over a rule
	DoubleRule             // over a double one, for a whole result
)

// Block is a Paragraph or a *Table.
type Block interface{ text(b *strings.Builder) }

// Paragraph is a sentence or more; in text its first line is indented by First columns,
// the others by Rest.
type Paragraph struct {
	Words       string
	First, Rest int
}

// Table is columns and rows of cells that have their digits already. A cell may be
// empty; a column that is empty in every row is not shown.
type Table struct {
	Title   string
	Columns []Column
	Rows    [][]string
	// Foot stands below, a paragraph a line; Detail is for those who ask for it. Where the last column holds Words, text
	// has a paragraph for each row.
	Foot          string
	Detail, Words bool
}

// Column is the heading of a column; numbers are set flush right.
type Column struct {
	Name   string
	Number bool
}

// NewTable begins a table; a column whose heading begins with ">" holds numbers.
func NewTable(head ...string) *Table {
	t := &Table{}
	t.heads(head...)
	return t
}

func (t *Table) heads(head ...string) {
	for _, h := range head {
		name, number := strings.CutPrefix(h, ">")
		t.Columns = append(t.Columns, Column{name, number})
	}
}

// Add appends a row; cells that are missing at its end are empty.
func (t *Table) Add(cells ...string) {
	for len(cells) < len(t.Columns) {
		cells = append(cells, "")
	}
	t.Rows = append(t.Rows, cells)
}

// row is the row whose first cell is key, which is added where there is none.
func (t *Table) row(key string) []string {
	i := slices.IndexFunc(t.Rows, func(r []string) bool { return r[0] == key })
	if i < 0 {
		i = len(t.Rows)
		t.Add(key)
	}
	return t.Rows[i]
}

// Shown is the table without the columns that say nothing, or nil where no more than
// the first is left.
func (t *Table) Shown() *Table {
	out := *t
	out.Columns, out.Rows = nil, make([][]string, len(t.Rows))
	for c, col := range t.Columns {
		used := c == 0
		for _, r := range t.Rows {
			used = used || r[c] != ""
		}
		if !used {
			continue
		}
		out.Columns = append(out.Columns, col)
		for i, r := range t.Rows {
			out.Rows[i] = append(out.Rows[i], r[c])
		}
	}
	if len(out.Rows) == 0 || len(out.Columns) < 2 {
		return nil
	}
	return &out
}

// without leaves out the rows whose first cell begins with prefix, and cuts remarks at
// their first semicolon.
func (t *Table) without(prefix string) *Table {
	out := *t
	out.Rows = nil
	for _, r := range t.Rows {
		if !strings.HasPrefix(r[0], prefix) {
			last := len(r) - 1
			short, _, _ := strings.Cut(r[last], ";")
			out.Rows = append(out.Rows, append(r[:last:last], short))
		}
	}
	return &out
}

// plain are the tables that are no details.
func plain(ts []*Table) []*Table {
	return slices.DeleteFunc(slices.Clone(ts), func(t *Table) bool { return t.Detail })
}

// titled gives a table its title and what stands below it.
func (t *Table) titled(title, foot string) *Table {
	t.Title, t.Foot = title, foot
	return t
}

// detailed is a table for those who ask for it.
func (t *Table) detailed() *Table {
	t.Detail = true
	return t
}

// Section begins a section; what follows is added to it.
func (d *Document) Section(rank Rank, title string) {
	*d = append(*d, Section{Rank: rank, Title: title})
}

func (d *Document) add(b Block) {
	if len(*d) == 0 {
		d.Section(Head, "")
	}
	last := &(*d)[len(*d)-1]
	last.Blocks = append(last.Blocks, b)
}

// Para adds a paragraph, indented.
func (d *Document) Para(words string, indent int) { d.add(Paragraph{words, indent, indent}) }

// Hang adds a paragraph whose first line is indented otherwise than the rest.
func (d *Document) Hang(words string, first, rest int) { d.add(Paragraph{words, first, rest}) }

// Table adds a table; one that has nothing to show is left out with its title.
func (d *Document) Table(title string, t *Table) {
	if t = t.Shown(); t != nil {
		t.Title = title
		d.add(t)
	}
}

// Text writes the document for a terminal or a letter: at most Width columns, a blank
// line before each section and each titled table.
func (d Document) Text(w io.Writer) error {
	var b strings.Builder
	for i, s := range d {
		if i > 0 {
			b.WriteByte('\n')
		}
		if s.Title != "" {
			putLines(&b, wrap(s.Title, 0, 0))
		}
		if s.Title != "" && s.Rank != Head {
			rule := map[Rank]string{Rule: "-", DoubleRule: "="}[s.Rank]
			b.WriteString(strings.Repeat(rule, min(Width, max(8, textWidth(s.Title)))) + "\n")
		}
		for _, x := range s.Blocks {
			x.text(&b)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func putLines(b *strings.Builder, lines []string) {
	for _, l := range lines {
		b.WriteString(l + "\n")
	}
}

func (p Paragraph) text(b *strings.Builder) { putLines(b, wrap(p.Words, p.First, p.Rest)) }

// tableIndent is where tables stand in text.
const tableIndent = 2

func (t *Table) text(b *strings.Builder) {
	if t.Title != "" {
		b.WriteByte('\n')
		putLines(b, wrap(t.Title, tableIndent, tableIndent))
	}
	if last := len(t.Columns) - 1; t.Words {
		for _, r := range t.Rows {
			putLines(b, wrap(strings.Join(r[:last], ", ")+": "+r[last], tableIndent, 6))
		}
		return
	}
	w := t.widths()
	head := make([]string, len(t.Columns))
	for c, col := range t.Columns {
		head[c] = col.Name
	}
	b.WriteString(t.line(head, w))
	for _, r := range t.Rows {
		b.WriteString(t.line(r, w))
	}
}

// widths are those of the columns. Where the table would be wider than Width, the widest
// columns of words are cut in the middle; numbers are never cut.
func (t *Table) widths() []int {
	w := make([]int, len(t.Columns))
	for c := range w {
		w[c] = textWidth(t.Columns[c].Name)
		for _, r := range t.Rows {
			w[c] = max(w[c], textWidth(r[c]))
		}
	}
	const narrowest = 8
	for {
		total, widest := tableIndent-2, -1
		for c := range w {
			total += w[c] + 2
			if !t.Columns[c].Number && w[c] > narrowest && (widest < 0 || w[c] > w[widest]) {
				widest = c
			}
		}
		if total <= Width || widest < 0 {
			return w
		}
		w[widest] -= min(total-Width, w[widest]-narrowest)
	}
}

func (t *Table) line(cells []string, w []int) string {
	var b strings.Builder
	b.WriteString(strings.Repeat(" ", tableIndent))
	for c, s := range cells {
		if c > 0 {
			b.WriteString("  ")
		}
		s = Shorten(s, w[c])
		pad := strings.Repeat(" ", w[c]-textWidth(s))
		if t.Columns[c].Number {
			b.WriteString(pad + s)
		} else {
			b.WriteString(s + pad)
		}
	}
	return strings.ReplaceAll(strings.TrimRight(b.String(), " "), "\u00a0", " ") + "\n"
}

// markdown has the names of a table escaped.
func (t *Table) markdown() string {
	var b strings.Builder
	head, rule := "|", "|"
	for _, c := range t.Columns {
		head += " " + c.Name + " |"
		rule += map[bool]string{true: "---:|", false: "---|"}[c.Number]
	}
	b.WriteString(head + "\n" + rule + "\n")
	for _, r := range t.Rows {
		b.WriteString("|")
		for c, cell := range r {
			if !t.Columns[c].Number {
				cell = escapeMarkdown(cell)
			}
			b.WriteString(" " + cell + " |")
		}
		b.WriteString("\n")
	}
	return b.String()
}

// sheet is a document with the notes that it refers to.
type sheet struct {
	Document
	notes notes
}

// tables prints them; what stands below has its second line, and all further ones, indented
// by rest.
func (s *sheet) tables(rest int, ts ...*Table) {
	for _, t := range ts {
		s.Table(t.Title, t)
		for p := range strings.SplitSeq(t.Foot, "\n") {
			if p != "" {
				s.Hang(p, 2, rest)
			}
		}
	}
}
